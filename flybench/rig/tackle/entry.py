"""How flies enter: from flat to upright by one angle, and what slack and speed come with it."""

from __future__ import annotations

import math

UPRIGHT = math.pi / 2
"""The steepest entry [rad]: straight down."""
STEEP_SLACK, STEEP_SPEED = 0.6, 2.0
"""Share of the leader that lies loose [-] and speed of the flies downwards [m/s] after a steep entry (judgement)."""
STEEP = math.acos(1 - STEEP_SLACK)
"""Angle of a steep entry above the water [rad], 66 degrees: that which leaves STEEP_SLACK of the leader loose."""
_ALONG = STEEP_SPEED / math.sin(STEEP)
"""Speed of cast flies along their way [m/s], of which STEEP_SPEED goes down at a steep entry: 2.2."""
_DOUBT, _GROWTH = 0.1, 1 / 6
"""Standard uncertainty of the slack of a flat entry, and by how much of the slack it grows [-]: 0.2 at a steep one
(judgement)."""
_ROUNDING = 12
"""Decimals to which these are rounded, so that a steep entry has just its numbers."""


def slack_at(angle: float) -> float:
    """Return the share of the leader that lies loose [-] after an entry at an angle above the water [rad].

    1 - cos(angle): the leader comes in straight at that angle, its lower end in the water, and then lies down along the
    surface as far as it reached over it.

    >>> slack_at(0.0), slack_at(STEEP)
    (0.0, 0.6)
    """
    return round(1 - math.cos(angle), _ROUNDING)


def speed_at(angle: float) -> float:
    """Return how fast flies go down as they enter at an angle above the water [rad], in m/s: 2.2 sin(angle).

    What goes along the surface is left out: drag stops it within some centimetres.

    >>> speed_at(0.0), speed_at(STEEP)
    (0.0, 2.0)
    """
    return round(_ALONG * math.sin(angle), _ROUNDING)


def slack_doubt_at(angle: float) -> float:
    """Return the standard uncertainty of the slack [-].

    >>> slack_doubt_at(0.0), slack_doubt_at(STEEP)
    (0.1, 0.2)
    """
    return round(_DOUBT + _GROWTH * slack_at(angle), _ROUNDING)
