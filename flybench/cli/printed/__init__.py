"""The commands that print: labels and the pocket page."""
