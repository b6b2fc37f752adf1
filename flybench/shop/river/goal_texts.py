"""What the flies are to do, as the angler types it, turned into the goal of the rig's model."""

from __future__ import annotations

import re

from flybench.errors import BadValueError
from flybench.quantity import parse_inside
from flybench.rig.odds import goal as goals
from flybench.rig.odds.goal import TOUCHES, Goal
from flybench.rig.water.current import Current
from flybench.shop.river.rig_texts import NEAR, RigTexts, level_from

_OF_TEN = 10
"""Drifts that touches are counted of: anglers say "three of ten"."""
_TOUCHES = re.compile(r"\s*(?P<count>[0-9]+(?:\.[0-9]+)?)\s*(?:of\s*10)?\s*", re.ASCII)


def goal_from(texts: RigTexts, current: Current, seconds: float | None = None) -> Goal:
    """Return what the flies are to do; raises BadValueError naming the option that cannot be.

    Parameters: seconds of a drift [s], None for as long as the water wants it.
    """
    cure = "Give the way along which the fish lie, such as 1 m for one stone."
    limits = (goals.SHORTEST_STRETCH, goals.LONGEST_STRETCH)
    stretch = parse_inside(texts.stretch, "m", "--stretch", *limits, cure, example="2 m")
    cure = "Give how far upstream of the fish you can land the flies and still fish them."
    limits = (goals.NEAREST, goals.FARTHEST)
    farthest = parse_inside(texts.farthest, "m", "--farthest", *limits, cure, example="4 m")
    above = None
    if texts.dropper_level is not None:
        above = level_from(texts.dropper_level, current, "--dropper-level")
    return Goal(
        level=level_from(texts.level, current),
        dropper_level=above,
        touches=_touches(texts),
        down=_number(texts.in_time, "--in-time", 1.0, "Give a share, such as 0.8 for four drifts of five."),
        stretch=stretch,
        farthest=farthest,
        bed_cost=_weight(
            texts.bed_cost, "--bed-cost", "Give 1 to 2, more where the bed holds snags, 0 for none."
        ),
        point_worth=_weight(
            texts.point_worth, "--point-worth", "Give 1, or 0 where the point is only a weight."
        ),
        dropper_worth=_weight(
            texts.dropper_worth, "--dropper-worth", "Give 1 where it counts as much as the point."
        ),
        seconds=seconds,
    )


def _touches(texts: RigTexts) -> float:
    """Return the wanted share of drifts that touch the bed: none where the fish are not near it."""
    if texts.touches is None:
        return TOUCHES if texts.level == NEAR else 0.0
    found = _TOUCHES.fullmatch(texts.touches)
    if found is None or float(found["count"]) > _OF_TEN:
        problem = f'"{texts.touches}" does not say how many of 10 drifts should touch the bed'
        raise BadValueError("--touches", problem, "Give a number from 0 to 10, such as 3.")
    return float(found["count"]) / _OF_TEN


def _weight(text: str, key: str, cure: str) -> float:
    return _number(text, key, goals.HIGHEST_COST, cure)


def _number(text: str, key: str, most: float, cure: str) -> float:
    """Return a plain number from 0 to ``most`` [-]."""
    return parse_inside(text, "1", key, 0.0, most, cure, example="0.8")
