"""Weighing a fly: what is known of its weight in water, what a scale would gain, and its readings recorded."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.shop.fly.weights import Readings, Weighed, readings_of, weight_of
from flybench.sinking.weight.scale import (
    ScaleCheck,
    WeighingGain,
    check_scale,
    reading,
    refuse_without_lift,
    weighing_gain,
)
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.sinking.weight.ways import refuse_floating_reading

FINEST, COARSEST = 1e-9, 1e-4
"""Last digits of scales that weigh flies [kg]: 1 microgram, the finest balances, to 0.1 g, kitchen scales (judgement)."""
_LIGHTEST, _HEAVIEST = 1e-6, 20e-3
"""Masses of one fly [kg]: 1 mg, a midge hook is twice that, to 20 g, more than any fly (judgement)."""
_OPTIONS = {"fly.mass": "--dry", "fly.mass_in_water": "--in-water"}
"""Keys of readings in the sheet, and the options with which they are typed here."""
_MOST = 1000
"""Most flies on a scale together [-]: nobody ties that many of one kind (judgement)."""


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
            raise BadValueError(
                "--resolution", problem, "Give the step of the scale's last digit, such as 1 mg."
            )
        if not 0 <= self.repeatability < math.inf:
            problem = f"{self.repeatability * 1e6:g} mg cannot be a standard deviation"
            raise BadValueError("--repeatability", problem, "Give zero or more, such as 0.5 mg.")
        if not 1 <= self.count <= _MOST:
            problem = f"{self.count} flies cannot lie on a scale together"
            raise BadValueError("--count", problem, f"Give 1 to {_MOST}.")

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
    gain: WeighingGain | None
    readings: Readings
    scale: Scale
    recorded: bool

    @property
    def weight(self) -> SubmergedWeight:
        """Return the weight in water."""
        return self.weighed.weight

    @property
    def check(self) -> ScaleCheck:
        """Return whether the scale is fine enough for one fly's weight in water."""
        return check_scale(self.scale.resolution, self.weight.apparent_mass, self.scale.count)

    @property
    def last_digit(self) -> float:
        """Return the relative standard uncertainty that the scale's last digit alone makes of one fly's weight."""
        return self.check.relative_uncertainty

    @property
    def too_coarse(self) -> bool:
        """Return whether the scale is too coarse for this fly, alone or for as many as lay on it."""
        return self.check.too_coarse

    @property
    def fine_enough(self) -> float:
        """Return the coarsest step [kg] of 1, 2 or 5 that is fine enough for one fly alone."""
        return self.check.fine_enough

    @property
    def enough_together(self) -> int | None:
        """Return how many like flies, in tens, this scale is fine enough for; None where more than it may hold."""
        return self.check.enough_together(_MOST)


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
            return _result(fly, _weighed(fly, water, scale, soaked, False), scale, water, False)
    with catalog.writing() as session:
        fly = get(session, NOUNS["fly"], code)
        try:
            _put(fly, new)
            return _result(fly, _weighed(fly, water, scale, soaked, True), scale, water, True)
        except FlybenchError as error:
            raise _as_typed(error) from error


def _refuse_unwetted(in_water: float | None, soaked: bool) -> None:
    """Refuse a reading in water of a fly that holds air: kept, it would count as wetted through for good."""
    if in_water is not None and not soaked:
        problem = "a fly whose dressing still holds air weighs too little in water"
        raise BadValueError("--unwetted", problem, "Wet it through and weigh it in water again.")


def _as_typed(error: FlybenchError) -> FlybenchError:
    """Return an error about a reading under the option it was typed with; any other as it is."""
    about = error if isinstance(error, BadValueError) else error.__cause__
    if isinstance(about, BadValueError) and about.key in _OPTIONS:
        return about.named(_OPTIONS[about.key])
    return error


def _weighed(fly: Fly, water: Water, scale: Scale, soaked: bool, recorded: bool) -> Weighed:
    """Return the weight of a fly, with what its readings leave open."""
    found = weight_of(fly, water, soaked)
    more = []
    if recorded and scale.count > 1:
        more.append(
            f"{fly.code}: this is the mean of {scale.count} flies; its ± is that of the scale, not of how the flies differ."
        )
    if not soaked and fly.mass_in_water_kg is not None:
        more.append(
            f"{fly.code}: its reading in water is used, so air still held in the dressing is not counted."
        )
    return replace(found, remarks=[*found.remarks, *more])


def _put(fly: Fly, new: Readings) -> None:
    """Put readings in the place of what the catalog holds; raises BadValueError where they contradict each other."""
    for name, read in (("mass", new.dry), ("mass_in_water", new.in_water)):
        if read is not None:
            _check(name, read)
            setattr(fly, f"{name}_kg", read.value)
            setattr(fly, f"{name}_u_kg", read.standard_uncertainty)
    if fly.mass_kg is not None and fly.mass_in_water_kg is not None:
        refuse_without_lift(fly.mass_kg, fly.mass_in_water_kg)


def _check(name: str, read: Measured) -> None:
    if name == "mass_in_water":
        refuse_floating_reading(read)
    if not _LIGHTEST <= read.value <= _HEAVIEST:
        problem = f"{read.value * 1e3:.4g} g is outside {_LIGHTEST * 1e3:g} to {_HEAVIEST * 1e3:g} g"
        cure = "Give the mass of one fly, or say with --count how many lie on the scale together."
        raise BadValueError(f"fly.{name}", problem, cure)


def _result(fly: Fly, weighed: Weighed, scale: Scale, water: Water, recorded: bool) -> FlyWeight:
    readings, _ = readings_of(fly)
    weight = weighed.weight
    both = readings.dry is not None and readings.in_water is not None
    gain = None if both else weighing_gain(weight.weight, weight.displaced, water.density, scale.resolution)
    return FlyWeight(fly.code, weighed, gain, readings, scale, recorded)
