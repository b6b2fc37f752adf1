"""The river in words: a drift, rigs side by side, a choice, an adjustment."""
