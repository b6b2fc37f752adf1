"""From fitted drops to a verdict: flags, free water, drag, budget, and the result as a record."""
