"""The log of changes in words."""
