"""A run that counts as a comparison takes it: its speed, what its doubt is made of, and the water it was made in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flybench.catalog.shelf.run_records import CountedRecord, RunSpeed
from flybench.catalog.tables.flies import FlySpeed
from flybench.hydraulics.water import Water
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER, SetUp, set_up_of
from flybench.shop.speeds.shared_errors import LEAST_OWN, Shared, own_of_fly, parts_of_doubt
from flybench.statistics.pooling import SPREAD_FREEDOM
from flybench.statistics.student import factor


@dataclass(frozen=True)
class RunParts:
    """One run that counts: speed in its own water [m/s], and relative standard uncertainties.

    own falls with drops, and is not widened for the few there are (``own_freedom``); shares, what it has from things that
    other runs may have it from too; temperature of the water [K], salinity [kg/kg]; correction takes the speed to the water
    of the comparison, with its relative standard uncertainty;
    brought_to, the temperature of that water [K]; clip, what tells the clip from others, "" where none is known.
    pooled, where the speed stands in the catalog without its runs and holds all that scatters already.
    """

    fly: str
    speed: float
    own: float
    shares: Mapping[Shared, float]
    temperature: float
    drops: int
    variant: str = ""
    number: int = 0
    salinity: float = 0.0
    set_up: SetUp | None = None
    pooled: bool = False
    correction: float = 1.0
    correction_doubt: float = 0.0
    brought_to: float | None = None
    clip: str = ""

    @property
    def own_freedom(self) -> float:
        """Return the degrees of freedom of what is its own [-]: those of its drops, and of what is expected of drops."""
        return freedom_of_drops(self.drops)

    @property
    def water(self) -> Water:
        """Return the water that it was made in."""
        return Water(self.temperature, self.salinity)

    @property
    def corrected(self) -> float:
        """Return the speed in the water of the comparison [m/s]."""
        return self.speed * self.correction


def freedom_of_drops(drops: int) -> float:
    """Return the degrees of freedom [-] of the spread between so many drops, as ``statistics.pooling.pool`` has it."""
    return drops - 1 + SPREAD_FREEDOM


def parts_of_run(run: RunSpeed) -> RunParts:
    """Return a run of the catalog as parts."""
    own, shares = parts_of_doubt(run)
    own = max(own / factor(freedom_of_drops(max(run.drops, 1))), LEAST_OWN)
    set_up = set_up_of(run)
    return RunParts(
        run.fly,
        run.speed,
        own,
        shares,
        run.temperature,
        max(run.drops, 1),
        run.variant,
        run.number,
        0.0 if set_up is None else set_up.salinity,
        set_up,
        clip=run.clip,
    )


def counted_record(run: RunParts) -> CountedRecord:
    """Return a run as it is kept for pooling: without its set-up, which only a comparison asks for."""
    shares = [
        [what, "" if (what, which) == own_of_fly(run.fly) else which, size]
        for (what, which), size in run.shares.items()
    ]
    return CountedRecord(
        run.number,
        run.fly,
        run.variant,
        run.speed,
        run.temperature,
        run.salinity,
        run.drops,
        run.own,
        shares,
        run.clip,
        run.correction,
        run.correction_doubt,
        run.brought_to,
    )


def counted_parts(one: CountedRecord) -> RunParts:
    """Return a run as parts from what is kept for pooling; a fly that was given another code is the same fly still."""
    own = own_of_fly(one.fly)
    return RunParts(
        one.fly,
        one.speed,
        one.own,
        {((what, which) if which else own): size for what, which, size in one.shares},
        one.temperature,
        one.drops,
        one.variant,
        one.number,
        one.salinity,
        correction=one.correction,
        correction_doubt=one.correction_doubt,
        brought_to=one.brought_to,
        clip=one.clip,
    )


def parts_without_runs(code: str, variant: str, speed: FlySpeed) -> RunParts:
    """Return a speed that stands in the catalog without its runs: nobody can say what of its doubt is shared."""
    doubt = speed.free_uncertainty_m_s / speed.free_speed_m_s
    return RunParts(
        code,
        speed.free_speed_m_s,
        0.0,
        {own_of_fly(code): doubt},
        speed.temperature_k,
        max(speed.drops, 1),
        variant,
        pooled=True,
    )


def once_each(runs: Iterable[RunParts]) -> list[RunParts]:
    """Return runs without those of a clip that came before: one clip is one reading, under however many flies it is kept."""
    found: dict[str | int, RunParts] = {}
    for place, run in enumerate(runs):
        found.setdefault(run.clip or place, run)
    return list(found.values())


def by_water(runs: Sequence[RunParts]) -> list[list[RunParts]]:
    """Return runs grouped by salinity and temperature: none farther than so much from its group's least."""
    groups: list[list[RunParts]] = []
    for run in sorted(runs, key=lambda run: (round(run.salinity / SAME_SALT), run.temperature)):
        first = groups[-1][0] if groups else None
        if (
            first is not None
            and abs(run.salinity - first.salinity) <= SAME_SALT
            and run.temperature - first.temperature <= SAME_WATER
        ):
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups
