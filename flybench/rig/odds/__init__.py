"""What is not known, drawn many times, and what one rig does over all draws."""
