"""Sinking in words: ladder, drag, laws, other water, predictions, comparisons, gaps."""
