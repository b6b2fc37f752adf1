"""Weighing a fly: what is known of its weight in water, what a scale would gain, and its readings recorded."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.catalog.flies import Fly
from flybench.catalog.nouns import NOUNS
from flybench.catalog.shelf import get
from flybench.catalog.store import Catalog
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.jobs.weights import Readings, Weighed, readings_of, weight_of
from flybench.quantity import Measured, inside
from flybench.sinking.scale import Gain, reading, weighing_gain
from flybench.sinking.weight import SubmergedWeight

FINEST, COARSEST = 1e-9, 1e-4
"""Last digits of scales that weigh flies [kg]."""
_MOST = 1000


@dataclass(frozen=True)
class Scale:
    """A scale: resolution and repeatability [kg], and how many like flies lay on it together."""

    resolution: float = 1e-6
    repeatability: float = 0.0
    count: int = 1

    def read(self, shown: float) -> Measured:
        """Return the mass of one fly from what the scale showed of all [kg].

        Raises BadValueError for steps that no scale has, or an impossible count.
        """
        cure = "Give the step of the last digit, 0.001 mg to 0.1 g, such as 1 mg."
        inside("scale.resolution", self.resolution, FINEST, COARSEST, "kg", cure)
        if not 1 <= self.count <= _MOST:
            raise BadValueError("count", f"{self.count} flies cannot be", f"Give 1 to {_MOST}.")
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
    Nothing is recorded where it is refused: BadValueError for an unknown fly or readings that cannot be,
    FlybenchError where it would float or weigh less than its bead.
    """
    water = Water(temperature)
    new = Readings(*(None if shown is None else scale.read(shown) for shown in (dry, in_water)))
    if new.dry is None and new.in_water is None:
        with catalog.reading() as session:
            fly: Fly = get(session, NOUNS["fly"], code)
            return _told(fly, weight_of(fly, water, soaked), scale, water, False)
    with catalog.writing() as session:
        fly = get(session, NOUNS["fly"], code)
        _put(fly, new)
        return _told(fly, weight_of(fly, water, soaked), scale, water, True)


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
    inside(
        key, read.value, 1e-6, 20e-3, "kg", "Give the mass of one fly, 1 mg to 20 g; several with --count."
    )


def _told(fly: Fly, weighed: Weighed, scale: Scale, water: Water, recorded: bool) -> FlyWeight:
    readings, _ = readings_of(fly)
    weight = weighed.weight
    both = readings.dry is not None and readings.in_water is not None
    gain = None if both else weighing_gain(weight.weight, weight.displaced, water.density, scale.resolution)
    return FlyWeight(fly.code, weighed, gain, readings, scale, recorded)
