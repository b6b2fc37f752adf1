"""Weighing a fly: what is known of its weight in water, what a scale would gain, and its readings recorded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.one_water import bring_again
from flybench.quantity import Measured
from flybench.shop.fly.weights import Readings, Weighed, readings_of, weight_of
from flybench.sinking.weight.gain import GAIN
from flybench.sinking.weight.repeated import alone, mean_reading, readings_differ, usual_repeatability
from flybench.sinking.weight.scale import (
    ScaleCheck,
    WeighingGain,
    check_scale,
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
    """A scale: resolution and repeatability [kg], None the usual one, and how many like flies lay on it together."""

    resolution: float = 1e-6
    repeatability: float | None = None
    count: int = 1

    def check(self) -> None:
        """Raise BadValueError for steps that no scale has, or an impossible count."""
        if not FINEST <= self.resolution <= COARSEST:
            problem = f"{self.resolution * 1e6:g} mg is outside {FINEST * 1e6:g} to {COARSEST * 1e6:g} mg"
            raise BadValueError(
                "--resolution", problem, "Give the step of the scale's last digit, such as 1 mg."
            )
        if self.repeatability is not None and not 0 <= self.repeatability < math.inf:
            problem = f"{self.repeatability * 1e6:g} mg cannot be a standard deviation"
            raise BadValueError("--repeatability", problem, "Give zero or more, such as 0.5 mg.")
        if not 1 <= self.count <= _MOST:
            problem = f"{self.count} flies cannot lie on a scale together"
            raise BadValueError("--count", problem, f"Give 1 to {_MOST}.")

    def scatter(self, in_water: bool) -> float:
        """Return the standard deviation of one reading [kg], as given or the usual one, in air or in water."""
        if self.repeatability is not None:
            return self.repeatability
        return usual_repeatability(self.resolution, in_water)

    def scatter_alone(self, in_water: bool) -> float:
        """Return what the scatter of readings leaves of doubt where one stands alone [kg], in air or in water."""
        return alone(self.scatter(in_water), known=self.repeatability is not None)

    def read(self, shown: Shown, in_water: bool = False) -> Measured:
        """Return the mass of one fly from what the scale showed of all [kg], once or several times.

        Raises BadValueError as ``check``.
        """
        self.check()
        scatter = self.scatter(in_water)
        whole = mean_reading(_each(shown), self.resolution, scatter, known=self.repeatability is not None)
        return Measured(whole.value / self.count, whole.standard_uncertainty / self.count)

    def differ(self, shown: Shown | None, in_water: bool) -> bool:
        """Tell whether several readings [kg] differ by more than they usually do."""
        each = _each(shown)
        return len(each) > 1 and readings_differ(each, self.resolution, self.scatter(in_water))


Shown = float | Sequence[float]
"""What a scale showed [kg], once or several times."""


def _each(shown: Shown | None) -> tuple[float, ...]:
    """Return readings [kg] one by one."""
    if shown is None:
        return ()
    return (float(shown),) if isinstance(shown, int | float) else tuple(shown)


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
    dry: Shown | None,
    in_water: Shown | None,
    scale: Scale,
    temperature: float,
    soaked: bool = True,
) -> FlyWeight:
    """Record what a scale showed of a fly and return its weight in water; without readings only tell what is known.

    Parameters: dry and in_water, as shown [kg], each once or several times; temperature of the water [K]; soaked, wetted
    through.
    Nothing is recorded where it is refused: BadValueError for an unknown fly or readings or a scale that cannot be,
    FlybenchError where it would float or weigh less than its bead.
    """
    scale.check()
    dry, in_water = _each(dry) or None, _each(in_water) or None
    _refuse_unwetted(in_water, soaked)
    water = Water(temperature)
    new = Readings(
        *(None if each is None else scale.read(each, wet) for each, wet in ((dry, False), (in_water, True)))
    )
    if new.dry is None and new.in_water is None:
        with catalog.reading() as session:
            fly: Fly = get(session, NOUNS["fly"], code)
            return _result(fly, _weighed(fly, water, scale, soaked, False), scale, water, False)
    with catalog.writing() as session:
        fly = get(session, NOUNS["fly"], code)
        try:
            _put(fly, new)
            weighed = _with_readings(_weighed(fly, water, scale, soaked, True), code, dry, in_water, scale)
            found = _result(fly, weighed, scale, water, True)
            bring_again(session)
            return found
        except FlybenchError as error:
            raise _as_typed(error) from error


def _with_readings(
    weighed: Weighed, code: str, dry: Shown | None, in_water: Shown | None, scale: Scale
) -> Weighed:
    """Return a weight flagged where its readings differ, and with the wish for a second reading in water."""
    once = in_water is not None and len(_each(in_water)) == 1 and scale.repeatability is None
    more = [_ask_again(code, scale)] if once else []
    weight = weighed.weight
    if scale.differ(dry, False) or scale.differ(in_water, True):
        weight = replace(weight, flags=(*weight.flags, "readings-differ"))
    return replace(weighed, weight=weight, remarks=[*weighed.remarks, *more])


def _ask_again(code: str, scale: Scale) -> str:
    good_to = 2 * scale.scatter_alone(True) * 1e6
    return (
        f"{code}: one reading in water does not show a bubble or a drift of the scale, so it was taken to be good to "
        f"±{good_to:.2g} mg. Lift the fly out, tare, dip it again, and give both: --in-water A --in-water B."
    )


def _refuse_unwetted(in_water: Shown | None, soaked: bool) -> None:
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
    gain = None if both else _gain(weight, water, scale)
    return FlyWeight(fly.code, weighed, gain, readings, scale, recorded)


def _gain(weight: SubmergedWeight, water: Water, scale: Scale) -> WeighingGain:
    """Return what two readings on this scale, one dry and one in water, would make of a weight."""
    doubts = scale.scatter_alone(False), scale.scatter_alone(True)
    return weighing_gain(weight.weight, weight.displaced, water.density, scale.resolution, doubts, GAIN)
