"""Published values as rows: read from the csv files here, compared to half their last printed digit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

FOLDER = Path(__file__).parent


@dataclass(frozen=True)
class Row:
    """One printed value; ``tolerance`` replaces half its last digit, ``deviation`` [%] a row we miss."""

    quantity: str
    inputs: str
    printed: str
    unit: str
    source: str
    tolerance: str
    deviation: str
    reason: str

    def __str__(self) -> str:
        return f"{self.quantity} {self.inputs}"

    def __getitem__(self, name: str) -> float:
        return float(self.text(name))

    def text(self, name: str) -> str:
        return dict(pair.split("=") for pair in self.inputs.split())[name]

    @property
    def value(self) -> float:
        return float(self.printed)

    @property
    def allowed(self) -> float:
        if self.tolerance.endswith("%"):
            return abs(self.value) * float(self.tolerance[:-1]) / 100
        if self.tolerance:
            return float(self.tolerance)
        return 0.5000001 * 10.0 ** int(Decimal(self.printed).as_tuple().exponent)

    def check(self, computed: float) -> None:
        """Assert that ``computed``, in the row's unit, is the printed value, or misses it as stated."""
        if self.tolerance or self.deviation:
            assert self.reason, f"{self}: a tolerance or deviation needs its reason"
        if self.deviation:
            assert abs(100 * (computed / self.value - 1) - float(self.deviation)) < 0.1
            return
        assert abs(computed - self.value) <= self.allowed, f"{self}: {computed} is not {self.printed}"


def rows(file: str, *quantities: str) -> list[Row]:
    """Return the rows of a file, all or those of some quantities."""
    with (FOLDER / file).open(newline="", encoding="utf-8") as lines:
        read = [Row(**line) for line in csv.DictReader(lines)]
    chosen = [row for row in read if not quantities or row.quantity in quantities]
    assert chosen, f"{file} has no {quantities}"
    return chosen
