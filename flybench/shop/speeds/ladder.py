"""The ladder: measured flies from slowest to fastest, the band of each, and which cannot be told apart."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from operator import eq
from typing import overload

from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.speeds.one_water import OneWater
from flybench.statistics.comparing import Side
from flybench.statistics.many_pairs import groups_of

BAND_EDGES_CM_S = (10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0)
"""Edges of the bands [cm/s]: the R10 series of preferred numbers (ISO 3:1973). An edge belongs to the band above it."""
_BANDS = (
    f"under {BAND_EDGES_CM_S[0]:g}",
    *(f"{low:g}-{high:g}" for low, high in pairwise(BAND_EDGES_CM_S)),
    f"{BAND_EDGES_CM_S[-1]:g} up",
)
"""The bands as they are named, from the slowest."""
_NOISE_DIGITS = 9
"""Decimals of a speed [cm/s] that count: beyond them lies the rounding of floats, which must not move an edge."""


@dataclass(frozen=True)
class Rung:
    """One measured fly or variant: what it is called, its free-water sink speed, its standard uncertainty, what of that comes
    from bringing it to the ladder's water [m/s], and whether runs of it were brought there."""

    code: str
    name: str
    speed: float
    uncertainty: float
    by_water: float = 0.0
    brought: bool = False

    @property
    def expanded(self) -> float:
        """Return the expanded uncertainty, k = 2 [m/s]."""
        return COVERAGE_FACTOR * self.uncertainty

    @property
    def mostly_water(self) -> bool:
        """Tell whether more than half of the uncertainty comes from bringing it to the ladder's water."""
        return self.by_water > self.uncertainty / 2

    @property
    def band(self) -> str:
        """Return the band of the speed itself."""
        return band_of(self.speed)

    @property
    def between_bands(self) -> bool:
        """Tell whether the interval (k = 2) reaches into another band."""
        return between_bands(self.speed, self.expanded)

    @property
    def shown_band(self) -> str:
        """Return the band as the ladder and the labels show it."""
        return shown_band(self.speed, self.expanded)


class LadderRung(Rung):
    """A rung that is worked out: its speed and its doubt are those of a side of a comparison."""

    side: Side

    def __init__(self, code: str, name: str, side: Side, brought: bool = False) -> None:
        """Take what it is called, how it sinks as a side, and whether runs of it were brought to the ladder's water."""
        by_water = sum(part.uncertainty for part in side.parts if part.source == "water")
        super().__init__(code, name, side.speed, side.uncertainty, by_water, brought)
        object.__setattr__(self, "side", side)


@dataclass(frozen=True, eq=False)
class Ties(Sequence[list[str]]):
    """Groups of rungs that cannot be told apart: codes of all, first and last place of each group.

    A group's codes are put together when it is asked for: groups of a large shop overlap, and hold a hundred times as many
    codes as it has flies.
    """

    codes: Sequence[str]
    places: Sequence[tuple[int, int]]

    __hash__ = None  # type: ignore[assignment]

    def __len__(self) -> int:
        """Return how many groups there are."""
        return len(self.places)

    @overload
    def __getitem__(self, place: int) -> list[str]: ...
    @overload
    def __getitem__(self, place: slice) -> list[list[str]]: ...
    def __getitem__(self, place: int | slice) -> list[str] | list[list[str]]:
        """Return the codes of a group, or of some groups."""
        if isinstance(place, slice):
            return [self[one] for one in range(*place.indices(len(self)))]
        first, last = self.places[place]
        return list(self.codes[first : last + 1])

    def __eq__(self, other: object) -> bool:
        """Tell whether the groups are the same, whatever holds them."""
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(eq, self, other))


@dataclass(frozen=True)
class Ladder:
    """Rungs from slowest to fastest, groups that cannot be told apart, and how many flies there are.

    unmeasured, how many were found that were never measured; total, how many measured ones, shown or not; water, that
    the speeds are for; assumed, the spread between runs as a share of the speed where no fly of the shop shows it, else 0;
    all_retired, how many measured ones were found where every one of them is retired, else 0.
    """

    rungs: Sequence[Rung]
    ties: Sequence[list[str]]
    unmeasured: int
    total: int
    water: OneWater | None = None
    assumed: float = 0.0
    all_retired: int = 0


def band_of(speed: float) -> str:
    """Return the band of a speed [m/s] in cm/s: "25-31.5", "under 10" or "80 up".

    Reference: ISO 3:1973, the R10 series.

    >>> band_of(0.28), band_of(0.25)
    ('25-31.5', '25-31.5')
    """
    return _BANDS[_place(speed)]


def _place(speed: float) -> int:
    """Return the place of the band of a speed [m/s], 0 for the slowest."""
    return bisect_right(BAND_EDGES_CM_S, round(speed * 100, _NOISE_DIGITS))


def between_bands(speed: float, expanded: float) -> bool:
    """Tell whether the interval of a speed (k = 2) [m/s] reaches into another band.

    >>> between_bands(0.26, 0.01), between_bands(0.26, 0.012)
    (False, True)
    """
    return _place(speed - expanded) != _place(speed + expanded)


def shown_band(speed: float, expanded: float) -> str:
    """Return the band of a speed [m/s] as it is shown everywhere: with "?" where its interval (k = 2) reaches into another.

    >>> shown_band(0.26, 0.01), shown_band(0.26, 0.012)
    ('25-31.5', '25-31.5?')
    """
    return band_of(speed) + ("?" if between_bands(speed, expanded) else "")


def ties_of(rungs: Sequence[LadderRung]) -> Ties:
    """Return the largest groups of neighbours of which no two can be told apart, rungs from slowest to fastest.

    A group that lies within the one before it is left out.
    """
    return Ties([rung.code for rung in rungs], groups_of([rung.side for rung in rungs]))
