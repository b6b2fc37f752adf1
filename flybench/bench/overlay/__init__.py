"""The clip again, with track, fit and scale drawn into it."""
