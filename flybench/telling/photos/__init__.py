"""Photos of the catalog in words: kept, listed, taken off."""
