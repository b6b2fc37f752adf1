"""Weighing a fly: what is known of its weight in water, what a scale would gain, and its readings recorded."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.shop.weights import Readings, Weighed, readings_of, weight_of
from flybench.sinking.weight.scale import Gain, check_scale, reading, weighing_gain
from flybench.sinking.weight.submerged import SubmergedWeight

FINEST, COARSEST = 1e-9, 1e-4
"""Last digits of scales that weigh flies [kg]."""
LAST_DIGIT = 0.015
"""Share of a weight in water that the last digit alone may make as standard uncertainty (judgement: 3 % at k = 2)."""
_LIGHTEST, _HEAVIEST = 1e-6, 20e-3
_MOST = 1000
_TENS = 10
_STEPS = (5, 2, 1)
"""Last digits that scales count in (OIML R 76-1, from memory)."""


@dataclass(frozen=True)
class Scale:
    """A scale: resolution and repeatability [kg], and how many like flies lay on it together."""

    resolution: float = 1e-6
    repeatability: float = 0.0
    count: int = 1

    def check(self) -> None:
        """Raise BadValueError for steps that no scale has, or an impossible count."""
        if not FINEST <= self.resolution <= COARSEST:
            problem = f"{self.resolution * 1e6:g} mg is outside {FINEST * 1e6:g} to {COARSEST * 1e6:g} mg"
            raise BadValueError("resolution", problem, "Give the step of the last digit, such as 1 mg.")
        if not 0 <= self.repeatability < math.inf:
            problem = f"{self.repeatability * 1e6:g} mg is no standard deviation"
            raise BadValueError("repeatability", problem, "Give zero or more.")
        if not 1 <= self.count <= _MOST:
            raise BadValueError("count", f"{self.count} flies cannot be", f"Give 1 to {_MOST}.")

    def read(self, shown: float) -> Measured:
        """Return the mass of one fly from what the scale showed of all [kg]; raises BadValueError as ``check``."""
        self.check()
        whole = reading(shown, self.resolution, self.repeatability)
        return Measured(whole.value / self.count, whole.standard_uncertainty / self.count)


@dataclass(frozen=True)
class FlyWeight:
    """A fly's weight in water as known now, what this scale would make of it, and whether readings were recorded.

    The gain is None where both readings are known already.
    """

    fly: str
    weighed: Weighed
    gain: Gain | None
    readings: Readings
    scale: Scale
    recorded: bool

    @property
    def weight(self) -> SubmergedWeight:
        """Return the weight in water."""
        return self.weighed.weight

    @property
    def last_digit(self) -> float:
        """Return the relative standard uncertainty that the scale's last digit alone makes of one fly's weight."""
        one = check_scale(self.scale.resolution, self.weight.weight.value / GRAVITY)
        return one.relative_uncertainty / self.scale.count

    @property
    def too_coarse(self) -> bool:
        """Return whether the scale is too coarse for this fly, alone or for as many as lay on it."""
        return self.last_digit > LAST_DIGIT

    @property
    def fine_enough(self) -> float:
        """Return the coarsest step [kg] of 1, 2 or 5 that is fine enough for one fly alone."""
        needed = LAST_DIGIT * math.sqrt(12) * self.weight.weight.value / GRAVITY
        decade = 10.0 ** math.floor(math.log10(needed))
        return next(step * decade for step in _STEPS if step * decade <= needed)

    @property
    def enough_together(self) -> int | None:
        """Return how many like flies, in tens, this scale is fine enough for; None where more than it may hold."""
        tens = math.ceil(self.scale.count * self.last_digit / LAST_DIGIT / _TENS)
        return _TENS * tens if _TENS * tens <= _MOST else None


def weigh_fly(
    catalog: Catalog,
    code: str,
    dry: float | None,
    in_water: float | None,
    scale: Scale,
    temperature: float,
    soaked: bool = True,
) -> FlyWeight:
    """Record what a scale showed of a fly and return its weight in water; without readings only tell what is known.

    Parameters: dry and in_water, as shown [kg]; temperature of the water [K]; soaked, wetted through.
    Nothing is recorded where it is refused: BadValueError for an unknown fly or readings or a scale that cannot be,
    FlybenchError where it would float or weigh less than its bead.
    """
    scale.check()
    _refuse_unwetted(in_water, soaked)
    water = Water(temperature)
    new = Readings(*(None if shown is None else scale.read(shown) for shown in (dry, in_water)))
    if new.dry is None and new.in_water is None:
        with catalog.reading() as session:
            fly: Fly = get(session, NOUNS["fly"], code)
            return _told(fly, _weighed(fly, water, scale, soaked, False), scale, water, False)
    with catalog.writing() as session:
        fly = get(session, NOUNS["fly"], code)
        _put(fly, new)
        return _told(fly, _weighed(fly, water, scale, soaked, True), scale, water, True)


def _refuse_unwetted(in_water: float | None, soaked: bool) -> None:
    """Refuse a reading in water of a fly that holds air: kept, it would count as wetted through for good."""
    if in_water is not None and not soaked:
        problem = "a fly that still holds air weighs too little in water"
        raise BadValueError("unwetted", problem, "Wet it through and weigh it in water again.")


def _weighed(fly: Fly, water: Water, scale: Scale, soaked: bool, recorded: bool) -> Weighed:
    """Return the weight of a fly, with what its readings leave open."""
    found = weight_of(fly, water, soaked)
    more = []
    if recorded and scale.count > 1:
        more.append(
            f"{fly.code}: the mean of {scale.count} flies; its ± is that of the scale, not of how flies differ"
        )
    if not soaked and fly.mass_in_water_kg is not None:
        more.append(f"{fly.code}: its reading in water holds, so air still held is not counted")
    return replace(found, remarks=[*found.remarks, *more])


def _put(fly: Fly, new: Readings) -> None:
    """Put readings in the place of what the catalog holds; raises BadValueError where they contradict each other."""
    for name, read in (("mass", new.dry), ("mass_in_water", new.in_water)):
        if read is not None:
            _check(name, read)
            setattr(fly, f"{name}_kg", read.value)
            setattr(fly, f"{name}_u_kg", read.standard_uncertainty)
    dry, wet = fly.mass_kg, fly.mass_in_water_kg
    if dry is not None and wet is not None and wet >= dry:
        problem = f"{wet * 1e3:.4g} g in water is not less than {dry * 1e3:.4g} g dry"
        raise BadValueError("fly.mass_in_water", problem, "Weigh both again: water bears part of the weight.")


def _check(name: str, read: Measured) -> None:
    key = f"fly.{name}"
    if name == "mass_in_water" and read.value <= 0:
        problem = f"{read.value * 1e3:.4g} g in water: it floats"
        raise BadValueError(key, problem, "Wet it through and weigh again, or give it more weight.")
    if not _LIGHTEST <= read.value <= _HEAVIEST:
        problem = f"{read.value * 1e3:.4g} g is outside {_LIGHTEST * 1e3:g} to {_HEAVIEST * 1e3:g} g"
        raise BadValueError(key, problem, "Give the mass of one fly; of several together with --count.")


def _told(fly: Fly, weighed: Weighed, scale: Scale, water: Water, recorded: bool) -> FlyWeight:
    readings, _ = readings_of(fly)
    weight = weighed.weight
    both = readings.dry is not None and readings.in_water is not None
    gain = None if both else weighing_gain(weight.weight, weight.displaced, water.density, scale.resolution)
    return FlyWeight(fly.code, weighed, gain, readings, scale, recorded)
