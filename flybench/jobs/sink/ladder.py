"""The ladder: measured flies from slowest to fastest, bands, and which cannot be told apart."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import count, select_rows
from flybench.catalog.store.open import Catalog
from flybench.quantity import COVERAGE_FACTOR

BAND_EDGES_CM_S = (10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0)
"""Steps of the R10 series of preferred numbers [cm/s] (ISO 3:1973)."""


@dataclass(frozen=True)
class Rung:
    """One fly or variant: free-water sink speed and its standard uncertainty [m/s]."""

    code: str
    name: str
    speed: float
    uncertainty: float

    @property
    def expanded(self) -> float:
        """Return the expanded uncertainty, k = 2 [m/s]."""
        return COVERAGE_FACTOR * self.uncertainty

    @property
    def band(self) -> str:
        """Return the band of the speed itself."""
        return band_of(self.speed)

    @property
    def between_bands(self) -> bool:
        """Tell whether the interval (k = 2) reaches into another band."""
        return band_of(self.speed - self.expanded) != band_of(self.speed + self.expanded)


@dataclass(frozen=True)
class Ladder:
    """Rungs from slowest to fastest, groups that cannot be told apart, and how many were never measured."""

    rungs: list[Rung]
    ties: list[list[str]]
    unmeasured: int
    total: int


def band_of(speed: float) -> str:
    """Return the band of a speed [m/s] in cm/s: "25-31.5", "under 10" or "80 up".

    >>> band_of(0.28)
    '25-31.5'
    """
    place = bisect_right(BAND_EDGES_CM_S, round(speed * 100, 9))
    if place == 0:
        return f"under {BAND_EDGES_CM_S[0]:g}"
    if place == len(BAND_EDGES_CM_S):
        return f"{BAND_EDGES_CM_S[-1]:g} up"
    return f"{BAND_EDGES_CM_S[place - 1]:g}-{BAND_EDGES_CM_S[place]:g}"


def ladder(catalog: Catalog, query: Sequence[str] = (), variants: bool = False, limit: int = 0) -> Ladder:
    """Return the ladder of the flies (or variants) that a query finds; retired flies are left out."""
    noun = NOUNS["variant" if variants else "fly"]
    kept = "" if variants else "retired:none"
    with catalog.reading() as session:
        wanted = narrowed(query, f"sink:any {kept}")
        rows = select_rows(session, noun, wanted, "sink", limit, ("code", "name", "sink", "sink-u"))
        total, measured = count(session, noun, narrowed(query, kept), "sink")
    rungs = [Rung(row["code"], row["name"], row["sink"], row["sink-u"]) for row in rows]
    return Ladder(rungs, ties_of(rungs), total - measured, measured)


def ties_of(rungs: Sequence[Rung]) -> list[list[str]]:
    """Return the largest groups of neighbours of which no two can be told apart.

    Two speeds are told apart where they differ by more than twice the standard uncertainty of their
    difference (k = 2), taken as independent: what they share makes ties rather than hides them.
    """
    groups: list[list[str]] = []
    reached = -1
    for first in range(len(rungs)):
        last = first
        while last + 1 < len(rungs) and all(
            not told_apart(rungs[one], rungs[last + 1]) for one in range(first, last + 1)
        ):
            last += 1
        if last > first and last > reached:
            groups.append([rung.code for rung in rungs[first : last + 1]])
        reached = max(reached, last)
    return groups


def told_apart(one: Rung, other: Rung) -> bool:
    """Tell whether two speeds differ by more than the expanded uncertainty of their difference (k = 2)."""
    doubt = COVERAGE_FACTOR * math.hypot(one.uncertainty, other.uncertainty)
    return abs(one.speed - other.speed) > doubt
