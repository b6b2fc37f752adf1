"""Frames of a clip with their own times, as stored and upright; nothing else opens a clip."""
