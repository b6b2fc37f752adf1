"""The fall fitted to a track: the law, its scatter, how well it can be known, and drops pooled."""
