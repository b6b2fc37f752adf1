"""The goal of a plan as a user writes it: texts with units, checked and turned into a goal."""

from __future__ import annotations

from collections.abc import Mapping

from flybench.bench.plan.terms import RANGES, PlanGoal
from flybench.errors import BadValueError
from flybench.hydraulics import falling_body as falling
from flybench.hydraulics.water import FREEZING, HOTTEST
from flybench.quantity import COVERAGE_FACTOR, parse_inside

DENSITY_RATIO = 2.5
"""Fly over water where neither ratio nor response time is given: a small brass bead with its dressing (judgement) [-]."""
LIGHTEST, DENSEST = 1.05, 20.0
"""Limits of that ratio: a fly that just sinks, and pure tungsten (19.3) rounded up [-]."""
PRECISION = 0.02
"""Wanted where none is given, k = 2 (judgement: finer than the drops of one fly usually agree) [-]."""
UNITS = {
    "speed": ("m/s", "30 cm/s"),
    "precision": ("1", "2 %"),
    "fly_width": ("m", "6 mm"),
    "density_ratio": ("1", "2.5"),
    "response_time": ("s", "60 ms"),
    "temperature": ("K", "18 degC"),
    "frame_rate": ("Hz", "240 Hz"),
    "column": ("m", "400 mm"),
    "distance": ("m", "600 mm"),
    "tank_width": ("m", "200 mm"),
    "spread": ("1", "1.5 %"),
    "gap_uncertainty": ("m", "3 mm"),
}
"""What can be asked: the SI unit each is read in, and an example."""


def read_goal(texts: Mapping[str, str], free_water: bool = False) -> PlanGoal:
    """Return the goal that the user wrote: keys as in UNITS, "speed" among them.

    Raises BadValueError that names the option, with the limits in the unit typed.

    >>> read_goal({"speed": "30 cm/s", "response_time": "60 ms"}).speed
    0.3
    """
    read = {key: _value(key, text) for key, text in texts.items()}
    ratio = read.pop("density_ratio", None)
    if "response_time" not in read:
        ratio = DENSITY_RATIO if ratio is None else ratio
        read["response_time"] = float(falling.response_time(read["speed"], ratio))
    elif ratio is not None:
        raise BadValueError(
            "--density-ratio", "is given together with --response-time", "Give one of the two."
        )
    if "gap_uncertainty" in read:
        read["gap_uncertainty"] /= COVERAGE_FACTOR
    return PlanGoal(**{"precision": PRECISION, **read}, free_water=free_water)


def _value(key: str, text: str) -> float:
    """Return one value in SI, or refuse it in the words and units of the user."""
    unit, example = UNITS[key]
    low, high, cure = _LIMITS[key]
    return parse_inside(text, unit, f"--{key.replace('_', '-')}", low, high, cure, example=example)


_LIMITS: dict[str, tuple[float, float, str]] = {
    **{key: (low, high, cure) for key, low, high, _, cure in RANGES},
    "gap_uncertainty": (0.0, 0.04, "Give the ± of the distance from card to fly (k = 2); 3 mm is usual."),
    "temperature": (FREEZING, HOTTEST, "Give the temperature that the water in the tank will have."),
    "density_ratio": (LIGHTEST, DENSEST, "Give 2.5 for a small brass bead, up to 8 for a big tungsten bead."),
}
"""Least and most value in SI, and cure, of all that can be asked: those of the goal, and of what it is worked out from."""
