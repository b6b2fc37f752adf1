"""The commands about sinking."""
