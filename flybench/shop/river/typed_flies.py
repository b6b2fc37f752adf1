"""Flies typed by their numbers instead of named by a code of the catalog."""

from __future__ import annotations

import re

from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured
from flybench.rig.tackle import flies
from flybench.rig.tackle.flies import RigFly
from flybench.shop.river.rig_texts import AFTER_A_UNIT, measured_from

TYPED_SPEED, TYPED_WEIGHT = 0.05, 0.05
"""Relative standard uncertainty of a sink speed or weight that is typed without its ± (judgement)."""

IN_GRAMS = re.compile(r"[0-9.\s](m|k)?g\b")
"""A weight in water that is told as the mass that a scale would show."""


def is_typed_fly(text: str) -> bool:
    """Tell whether a fly is typed by its numbers, as "30 cm/s, 2.0 mN", rather than named by its code."""
    return bool(re.match(r"\s*[0-9.+-]", text)) and "," in text


def typed_fly(text: str, key: str, name: str) -> RigFly:
    """Return the fly typed as "30 cm/s, 2.0 mN" or "30 cm/s, 0.2 g": how fast it sinks in free water, its weight in water.

    Raises BadValueError that names ``key`` for what cannot be.
    """
    parts = AFTER_A_UNIT.split(text, maxsplit=1)
    speed, weight = parts if len(parts) == 2 else text.split(",", 1)
    return fly_of_texts(name, speed.strip(), weight.strip(), key)


def fly_of_texts(name: str, speed: str, weight: str, key: str) -> RigFly:
    """Return the fly of a sink speed and a weight in water as typed; raises BadValueError that names ``key``."""
    cure = "A fly on a rig must sink: give how fast it sinks in still water, such as 30 cm/s."
    limits = (flies.SLOWEST, flies.FASTEST)
    sinks = measured_from(speed, "m/s", key, limits, TYPED_SPEED, cure, "30 cm/s")
    return RigFly(name, sinks, _weight_in_water(weight, key))


def _weight_in_water(text: str, key: str) -> Measured:
    """Return a weight in water [N] as typed: as a force, or as the grams that a scale would show."""
    cure = "A fly on a rig must sink: give its weight in water, such as 2.0 mN."
    limits = flies.LIGHTEST, flies.HEAVIEST
    if not IN_GRAMS.search(text):
        return measured_from(text, "N", key, limits, TYPED_WEIGHT, cure, "2.0 mN")
    grams = limits[0] / GRAVITY, limits[1] / GRAVITY
    mass = measured_from(text, "kg", key, grams, TYPED_WEIGHT, cure, "0.2 g")
    return Measured(mass.value * GRAVITY, mass.standard_uncertainty * GRAVITY)
