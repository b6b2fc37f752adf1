"""From bright or dark spots in frames to tracks, and from tracks to drops."""
