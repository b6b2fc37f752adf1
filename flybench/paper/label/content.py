"""What stands on a label: the label itself, its lines, how large they are, and which go first where there is no room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.paper.label.typesetting import NO_BREAK, clean
from flybench.quantity import INCH, celsius, speed_text
from flybench.shop.speeds.set_ups import SAME_SALT

NOT_MEASURED = "not measured"
PREDICTED = "predicted"
DROP_ORDER = ("note", "price", "bead", "hook", "band", "name")
"""What is left out, first to last, where a label has no room. Code and speed never are.

The QR code stays while code, speed, band and name fit beside it; otherwise it goes and the lines come back; judgement.
"""
_WHOLE = 10.0
"""Predicted speeds from here on are told in whole cm/s or in/s [of the unit], slower ones to a tenth; judgement."""
_HELD = 20
"""A hook or bead of up to so many signs is not broken between its words; judgement."""


@dataclass(frozen=True)
class LabelSpeed:
    """A sink speed and its expanded uncertainty, k = 2 [m/s]; ``interval`` where it was not measured but predicted: the ends
    between which 95 of 100 such flies sink [m/s]; ``water``, its temperature where the label is to name it
    [K], and ``salinity`` its salt [kg/kg].

    Raises BadValueError where a number is not finite or not above zero.
    """

    value: float
    expanded: float
    interval: tuple[float, float] | None = None
    water: float | None = None
    salinity: float = 0.0

    def __post_init__(self) -> None:
        """Refuse numbers that cannot be a speed with its uncertainty."""
        for key, number in (("sink speed", self.value), ("sink speed's uncertainty", self.expanded)):
            if not (math.isfinite(number) and number > 0):
                raise BadValueError(key, f"{number:g} m/s is not above zero", "Measure the fly again.")

    @property
    def predicted(self) -> bool:
        """Tell whether it was predicted, not measured."""
        return self.interval is not None

    @property
    def lines(self) -> tuple[str, str]:
        """The speed in cm/s, and in in/s: with its ±, or, predicted, as "about 20 (12 to 31)"."""
        if self.interval is not None:
            return self._about(0.01, "cm/s"), self._about(INCH, "in/s")
        metric, imperial = speed_text(self.value, self.expanded).rstrip(")").split(" (")
        return metric.replace(" ", NO_BREAK), imperial.replace(" ", NO_BREAK)

    def _about(self, unit: float, name: str) -> str:
        """Return about how fast, and between what; it may be broken before the parenthesis only."""
        assert self.interval is not None
        places = 0 if self.value / unit >= _WHOLE else 1
        low, middle, high = (
            f"{one / unit:.{places}f}" for one in (self.interval[0], self.value, self.interval[1])
        )
        return f"about{NO_BREAK}{middle} ({low}{NO_BREAK}to{NO_BREAK}{high}){NO_BREAK}{name}"


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
    speed: LabelSpeed | None = None
    band: str | None = None

    def __post_init__(self) -> None:
        """Refuse a label that cannot be told from others or that guesses."""
        if not self.code.strip():
            raise BadValueError("code", f'the label of "{self.name}" has none', "Give the fly a code.")
        if self.band is not None and self.speed is None:
            problem = f'"{self.code}" has the band "{self.band}" and no speed'
            raise BadValueError("band", problem, "Leave the band out, or give the speed it comes from.")


@dataclass(frozen=True)
class LabelRow:
    """One text: its part of the label, its size relative to the others, and how it may be made to fit."""

    part: str
    text: str
    weight: float
    bold: bool = False
    most_lines: int = 1
    may_shorten: bool = False
    may_break: bool = True


@dataclass(frozen=True)
class Shown:
    """What is shown: the QR code or not, the parts in ``DROP_ORDER`` that are kept, texts in up to so many lines."""

    qr: bool
    parts: frozenset[str]
    most_lines: int = 2


def plans(label: Label) -> Iterator[Shown]:
    """Yield what to show, from everything down to code and speed alone; texts are shortened before one is left out."""
    there = [part for part in DROP_ORDER if clean(getattr(label, part) or "")]
    below_name = len([part for part in there if part not in {"band", "name"}])
    for qr, most_dropped in ((True, below_name), (False, len(there))):
        if qr and not label.qr:
            continue
        for dropped in range(most_dropped + 1):
            for most_lines in (2, 1):
                yield Shown(qr, frozenset(there[dropped:]), most_lines)


def head_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return code and name, which stand beside the band."""
    rows = [LabelRow("code", clean(label.code), 2.0, bold=True, most_lines=2)]
    if "name" in plan.parts:
        rows.append(LabelRow("name", clean(label.name), 1.15, most_lines=plan.most_lines, may_shorten=True))
    return rows


def speed_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return the speed in cm/s and in/s with its ±, or that there is none; a number is never broken."""
    if label.speed is None:
        return [LabelRow("speed", NOT_MEASURED, 1.6, bold=True, most_lines=2, may_break=False)]
    metric, imperial = label.speed.lines
    water = _water_words(label.speed)
    if label.speed.predicted:
        return _predicted_rows(metric, imperial, water, plan)
    words = f"{imperial} (k{NO_BREAK}={NO_BREAK}2{water})"
    return [
        LabelRow("speed", metric, 1.7, bold=True, may_break=False),
        LabelRow("speed", words, 1.0, most_lines=2, may_break=False),
    ]


def _water_words(speed: LabelSpeed) -> str:
    """Return the water of a speed as it stands behind it; its salt where there is more than a trace."""
    if speed.water is None:
        return ""
    salt = f",{NO_BREAK}{speed.salinity * 1e3:.3g}{NO_BREAK}g/kg{NO_BREAK}salt"
    warmth = f",{NO_BREAK}{round(celsius(speed.water), 1):g}{NO_BREAK}°C"
    return warmth + (salt if speed.salinity > SAME_SALT else "")


def _predicted_rows(metric: str, imperial: str, water: str, plan: Shown) -> list[LabelRow]:
    """Return a predicted speed: in thin letters, and said to be one; in in/s too where there is room for two lines."""
    rows = [LabelRow("speed", metric, 1.3, most_lines=2, may_break=False)]
    if plan.most_lines > 1:
        rows.append(LabelRow("speed", imperial, 0.9, most_lines=2, may_break=False))
    return [*rows, LabelRow("speed", f"{PREDICTED}{water}", 1.05, most_lines=2, may_break=False)]


def detail_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return hook and bead in one line."""
    texts = [clean(getattr(label, part)) for part in ("hook", "bead") if part in plan.parts]
    if not texts:
        return []
    held = [text.replace(" ", NO_BREAK) if len(text) <= _HELD else text for text in texts]
    return [
        LabelRow(
            "hook and bead",
            f"{NO_BREAK}· ".join(held),
            0.95,
            most_lines=plan.most_lines,
            may_shorten=True,
            may_break=False,
        )
    ]


def foot_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return price and note."""
    rows = []
    if "price" in plan.parts and label.price:
        rows.append(LabelRow("price", clean(label.price), 1.3, bold=True, most_lines=2, may_break=False))
    if "note" in plan.parts:
        rows.append(LabelRow("note", clean(label.note), 0.85, most_lines=plan.most_lines, may_shorten=True))
    return rows
