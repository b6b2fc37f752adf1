"""The catalog in words: lists, one thing in full, stock, labels, recipes, safekeeping, weighings."""
