"""What hangs in the water: flies, leader and tippet, and the diameter of a line as people write it."""
