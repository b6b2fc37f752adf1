"""The commands that print."""
