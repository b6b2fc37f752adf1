"""The tables of the catalog: materials, patterns, flies, and the words that their columns may hold."""
