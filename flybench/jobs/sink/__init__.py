"""What a user asks about sinking: drag, other water, predictions, comparisons, the ladder and its gaps."""
