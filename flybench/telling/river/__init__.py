"""The river in words: a drift, a choice, an adjustment, the pocket page."""
