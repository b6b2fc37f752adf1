"""What to set up for a wanted precision."""
