"""The water in front of you: the bed, the speed at every depth, and the current as a whole."""
