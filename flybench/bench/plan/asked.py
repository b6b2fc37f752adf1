"""The goal of a plan as a user writes it: texts with units, checked and turned into a goal."""

from __future__ import annotations

from collections.abc import Mapping

from flybench.bench.plan.terms import RANGES, PlanGoal
from flybench.bench.sheet.settings import GAP_UNCERTAINTY
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
USUAL_GAP = f"{1e3 * COVERAGE_FACTOR * GAP_UNCERTAINTY:g} mm"
"""± of the distance from card to fly where none is given (k = 2), as bench measure takes it."""
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
    "gap_uncertainty": ("m", USUAL_GAP),
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
    if key in _SHARES:
        _refuse_bare_percent(f"--{key.replace('_', '-')}", text, low, high)
    return parse_inside(text, unit, f"--{key.replace('_', '-')}", low, high, cure, example=example)


def _refuse_bare_percent(option: str, text: str, low: float, high: float) -> None:
    """Raise BadValueError for a bare number that is too large as a share and would do as per cent."""
    try:
        bare = float(text)
    except ValueError:
        return
    if bare > high and low <= bare / 100 <= high:
        raise BadValueError(
            option,
            f"{bare:g} without a unit is {100 * bare:g} %, outside {100 * low:g} to {100 * high:g} %",
            f'Write "{bare:g} %" if you mean per cent',
        )


_SHARES = ("precision", "spread")
"""What is given as a share of the speed."""
_LIMITS: dict[str, tuple[float, float, str]] = {
    **{key: (low, high, cure) for key, low, high, _, cure in RANGES},
    "gap_uncertainty": (
        0.0,
        0.04,
        f"Give the ± of the distance from card to fly (k = 2); {USUAL_GAP} is usual.",
    ),
    "temperature": (FREEZING, HOTTEST, "Give the temperature that the water in the tank will have."),
    "density_ratio": (LIGHTEST, DENSEST, "Give 2.5 for a small brass bead, up to 8 for a big tungsten bead."),
}
"""Least and most value in SI, and cure, of all that can be asked: those of the goal, and of what it is worked out from."""
