"""The sink speed timed by hand over a known distance, for when no phone is at hand."""
