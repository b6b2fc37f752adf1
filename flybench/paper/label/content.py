"""What stands on a label."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.quantity import speed_text


@dataclass(frozen=True)
class Speed:
    """A sink speed and its expanded uncertainty, k = 2 [m/s]; ``predicted`` where it was not measured.

    Raises BadValueError where a number is not finite or not above zero.
    """

    value: float
    expanded: float
    predicted: bool = False

    def __post_init__(self) -> None:
        """Refuse numbers that cannot be a speed with its uncertainty."""
        for key, number in (("sink speed", self.value), ("sink speed's uncertainty", self.expanded)):
            if not (math.isfinite(number) and number > 0):
                raise BadValueError(key, f"{number:g} m/s is not above zero", "Measure the fly again.")

    @property
    def lines(self) -> tuple[str, str]:
        """The speed with its ± in cm/s, and in in/s."""
        metric, imperial = speed_text(self.value, self.expanded).rstrip(")").split(" (")
        return metric, imperial


@dataclass(frozen=True)
class Label:
    """What one label says; empty texts and None leave their line out.

    ``speed`` is None for a fly that was never measured: the label says so, and then has no ``band``.
    ``qr`` is the text or address of the QR code. Raises BadValueError for a label without a code and
    for a band without a speed.
    """

    code: str
    name: str = ""
    hook: str = ""
    bead: str = ""
    price: str | None = None
    note: str = ""
    qr: str | None = None
    speed: Speed | None = None
    band: str | None = None

    def __post_init__(self) -> None:
        """Refuse a label that cannot be told from others or that guesses."""
        if not self.code.strip():
            raise BadValueError("code", f'the label of "{self.name}" has none', "Give the fly a code.")
        if self.band is not None and self.speed is None:
            problem = f'"{self.code}" has the band "{self.band}" and no speed'
            raise BadValueError("band", problem, "Leave the band out, or give the speed it comes from.")
