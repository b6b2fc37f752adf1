"""The catalog in words: lists, one thing in full, stock, make-lists, recipes, safekeeping, weighings."""
