"""Invented flies filmed in named set-ups on several evenings, each error drawn once for what has it, by laws of its own.

The print of a card is off by as much as it pleases within a limit (uniform), distances to camera and fall plane by a
triangular law, the lean of the phone to one side only (exponential, its mean known), and runs of a fly scatter by a skewed
law. Nothing but the form of a run's record is the program's. Sizes are invented.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from flybench.catalog.shelf.run_records import RunSpeed

Random = np.random.Generator
CARD, DISTANCE, LEAN, WALLS, CORNERS, READING, RUNS = 0.008, 0.012, 0.004, 0.003, 0.002, 0.004, 0.007
"""Standard deviations, as shares of the speed, of what is off by card, by evening (two of them), by fly, by clip, by the
reading of a clip, and of runs of one fly (invented)."""
PLACES = ("kitchen", "cellar")
MEASURED = date(2031, 2, 1)
"""The day on which all clips were measured, long after they were filmed."""
SHEET: Mapping[str, Any] = {
    "water": {"temperature": "18 degC"},
    "tank": {"width": "200 mm", "depth": "140 mm"},
    "camera": {"distance": "620 mm"},
    "scale": {"card": "in water"},
}
"""The sheet of every run: both set-ups look alike in it."""


@dataclass
class EveningShop:
    """A shop with a card in each of two set-ups: what is off there and on each evening, drawn when it is first met."""

    seed: int
    random: Random = field(init=False)
    cards: dict[str, float] = field(default_factory=dict)
    evenings: dict[tuple[str, int], float] = field(default_factory=dict)
    count: int = 0

    def __post_init__(self) -> None:
        """Seed the numbers."""
        self.random = np.random.default_rng(self.seed)

    def runs(self, fly: str, truth: float, met: list[tuple[str, int]]) -> list[RunSpeed]:
        """Return runs of a fly of a true speed [m/s], one in each of these set-ups on these evenings."""
        walls = WALLS * self.random.normal()
        return [self._run(fly, truth * (1 + walls), place, evening) for place, evening in met]

    def _run(self, fly: str, speed: float, place: str, evening: int) -> RunSpeed:
        draw = self.random
        card = self.cards.setdefault(place, CARD * math.sqrt(3) * draw.uniform(-1, 1))
        distance = DISTANCE * math.sqrt(6) * draw.triangular(-1, 0, 1)
        there = self.evenings.setdefault((place, evening), distance + LEAN * (draw.exponential() - 1))
        own = CORNERS * draw.normal() + READING * draw.normal() - RUNS * (draw.gamma(2.0) - 2) / math.sqrt(2)
        self.count += 1
        return _record(self.count, fly, speed * (1 + card + there + own), place, evening)


def _record(number: int, fly: str, seen: float, place: str, evening: int) -> RunSpeed:
    sizes = {
        "reading the track": READING,
        "card corners": CORNERS,
        "print size of the card": CARD,
        "camera distance": DISTANCE,
        "vertical of the camera": LEAN,
        "history force": WALLS,
    }
    shared = math.hypot(*(size for name, size in sizes.items() if name != "reading the track"))
    budget = [{"source": name, "standard_uncertainty_m_s": size * seen} for name, size in sizes.items()]
    return RunSpeed(
        number,
        fly,
        f"variant of {fly}",
        seen,
        math.hypot(shared, READING) * seen,
        shared * seen,
        291.15,
        5,
        seen,
        MEASURED - timedelta(days=30 - evening),
        SHEET,
        budget,
        (1080, 1920, 0),
        f"clip {number}",
        place,
    )


def unnamed(run: RunSpeed) -> RunSpeed:
    """Return a run as one whose set-up nobody named, of a file that does not say when it was filmed."""
    return replace(run, place="", day=MEASURED)


def met(kind: str, runs: int) -> tuple[list[tuple[str, int]], list[tuple[str, int]]]:
    """Return where and on which evenings the runs of two flies were made: "one evening", "one card", "two cards"."""
    first = [("kitchen", 2 * k) for k in range(runs)]
    other = {
        "one evening": first,
        "one card": [("kitchen", 2 * k + 1) for k in range(runs)],
        "two cards": [("cellar", 2 * k) for k in range(runs)],
    }
    return first, other[kind]
