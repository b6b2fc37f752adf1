"""A wish at the bench: a fly, and how well its sink speed is to be known."""

from __future__ import annotations

from flybench.bench.plan.terms import PlanGoal

WISH = PlanGoal(speed=0.3, precision=0.02, response_time=0.061)
"""A middling fly [m/s, share of the speed, s]."""
