"""What is wanted of a rig in words, the same for everything that shows it."""

from __future__ import annotations

from flybench.rig.odds.goal import Goal

_NEVER, _ALWAYS = 0.05, 0.95
"""Shares of drifts below and above which tenths say too little [-]: half a tenth from the ends."""

_NEAREST = 0.1
"""Way upstream below which it is not told more closely [m] (judgement)."""
FAR = 0.2
"""Share of drifts that touch off the wanted one, beyond which that is said [-] (judgement: two drifts of ten)."""


def of_ten(share: float) -> str:
    """Return a share of drifts [-] as anglers say it.

    >>> of_ten(0.31), of_ten(0.01), of_ten(1.0)
    ('3 of 10 drifts', 'hardly any drift', 'nearly every drift')
    """
    if share < _NEVER:
        return "hardly any drift"
    return "nearly every drift" if share > _ALWAYS else f"{10 * share:.0f} of 10 drifts"


def upstream(way: float) -> str:
    """Return how far upstream flies are landed [m], as anglers say it.

    >>> upstream(2.46), upstream(0.03)
    ('2.5 m', 'less than 0.1 m')
    """
    return f"{way:.1f} m" if way >= _NEAREST else f"less than {_NEAREST:g} m"


def touches_off(touched: float, goal: Goal) -> str:
    """Return that a share of drifts that touch [-] is far from the wanted one, as the rest of a sentence; "" where not.

    >>> touches_off(0.7, Goal()), touches_off(0.4, Goal()), touches_off(0.5, Goal(touches=0.0))
    (', where 3 of 10 are wanted', '', ', where none is wanted')
    """
    if abs(touched - goal.touches) <= FAR:
        return ""
    return f", where {10 * goal.touches:.0f} of 10 are wanted" if goal.touches else ", where none is wanted"


def goal_words(goal: Goal) -> str:
    """Return what is wanted, in one sentence."""
    touches = (
        "no touches of the bottom"
        if goal.touches == 0
        else f"touches of the bottom in {of_ten(goal.touches)}"
    )
    return (
        f"Wanted: flies that are down with the fish in {of_ten(goal.down)}, {touches}, and much time with the fish along "
        f"{goal.stretch:g} m."
    )
