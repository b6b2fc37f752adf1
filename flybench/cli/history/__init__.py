"""The commands of the log of changes."""
