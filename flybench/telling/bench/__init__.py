"""The bench in words: what was measured, what a plan advises, the card, the demo."""
