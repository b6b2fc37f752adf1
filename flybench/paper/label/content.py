"""What stands on a label: the label itself, its lines, how large they are, and which go first where there is no room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.paper.label.typesetting import NO_BREAK, clean
from flybench.quantity import INCH, celsius
from flybench.shop.speeds.set_ups import SAME_SALT

NOT_MEASURED = "not measured"
PREDICTED = "predicted"
DROP_ORDER = ("note", "price", "bead", "hook", "band", "name", "qr", "warning")
"""What is left out, first to last, where a label has no room: the QR code, by which a till finds the fly, and the safety line
are the last to go. Speed and code never are; judgement."""
_WHOLE = 10.0
"""Speeds from here on are told in whole cm/s or in/s [of the unit], slower ones to a tenth; judgement: a customer asks for no
more."""
_NARROW = 1.0
"""Expanded uncertainty below which the ends of its interval are told to a tenth [of the unit]; judgement."""
_ROUNDING = 1e-6
"""An end so near to a shown number is that number [last places]; what is left of arithmetic."""
_HELD = 20
"""A hook or bead of up to so many signs is not broken between its words; judgement."""
NUMBER, BESIDE = 3.0, 1.1
"""Type sizes of the speed's number and of the words beside it, in plain type sizes; judgement."""


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
    def ends(self) -> tuple[float, float]:
        """The ends of what the speed may be [m/s]: of its k = 2 interval, or of 95 of 100 such flies."""
        return self.interval or (self.value - self.expanded, self.value + self.expanded)

    @property
    def about(self) -> str:
        """The number that is shown large: the speed in cm/s as a customer asks for it.

        >>> LabelSpeed(0.284, 0.006).about, LabelSpeed(0.094, 0.006).about
        ('28', '9.4')
        """
        return _shown(self.value, 0.01)

    @property
    def imperial(self) -> str:
        """About how fast in in/s."""
        return f"about{NO_BREAK}{_shown(self.value, INCH)}{NO_BREAK}in/s"

    @property
    def between(self) -> str:
        """Between what the speed lies, in cm/s.

        >>> LabelSpeed(0.287, 0.02).between.replace(NO_BREAK, " ")
        '26 to 31 cm/s'
        """
        return f"{NO_BREAK}to{NO_BREAK}".join(self.end_numbers) + f"{NO_BREAK}cm/s"

    @property
    def end_numbers(self) -> tuple[str, str]:
        """The two numbers between which it lies, in cm/s, as customers are told them on labels and price lists; rounded
        outwards, so that the range holds no less than it says."""
        low, high = (100 * end for end in self.ends)
        fine = self.value < 0.01 * _WHOLE or (not self.predicted and 100 * self.expanded < _NARROW)
        places = 1 if fine else 0
        step = 10.0**places
        outer = math.floor(low * step + _ROUNDING) / step, math.ceil(high * step - _ROUNDING) / step
        return f"{outer[0]:.{places}f}", f"{outer[1]:.{places}f}"


def _shown(speed: float, unit: float) -> str:
    """Return a speed [m/s] in a unit [m/s], whole from 10 on."""
    number = speed / unit
    return f"{number:.{0 if number >= _WHOLE else 1}f}"


@dataclass(frozen=True)
class Label:
    """What one label says; empty texts and None leave their line out.

    ``speed`` is None for a fly that was never measured: the label says so, and then has no ``band``.
    ``qr`` is the text or address of the QR code, ``warning`` a line about safety. Raises BadValueError for a label without a
    code and for a band without a speed.
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
    warning: str = ""
    photo: bytes | None = None
    """Shown small where the rest leaves a place free."""

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
    """What is shown: the parts in ``DROP_ORDER`` that are kept, texts in up to so many lines."""

    parts: frozenset[str]
    most_lines: int = 2


def plans(label: Label) -> Iterator[Shown]:
    """Yield what to show, from everything down to speed and code alone; texts are shortened before one is left out."""
    there = [part for part in DROP_ORDER if clean(getattr(label, part) or "")]
    for dropped in range(len(there) + 1):
        for most_lines in (2, 1):
            yield Shown(frozenset(there[dropped:]), most_lines)


def name_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return the name, which stands beside the band."""
    if "name" not in plan.parts:
        return []
    return [LabelRow("name", clean(label.name), 1.2, bold=True, most_lines=plan.most_lines, may_shorten=True)]


def speed_words(label: Label) -> tuple[str, str, str] | None:
    """Return what stands before the large number, the number, and its unit; None for a fly that was never measured."""
    return None if label.speed is None else ("about ", label.speed.about, " cm/s")


def interval_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return, small, the range of the speed, whether it was predicted, in which water, and about how fast it is in in/s."""
    if label.speed is None:
        return []
    speed = label.speed
    words = f"{PREDICTED}, {speed.between}" if speed.predicted else speed.between
    parts = [words, *_water_words(speed), *([speed.imperial] if plan.most_lines > 1 else [])]
    return [LabelRow("speed", "; ".join(parts), 0.9, most_lines=3, may_break=False)]


def _water_words(speed: LabelSpeed) -> list[str]:
    """Return the water of a speed, where it is to be named; its salt where there is more than a trace."""
    if speed.water is None:
        return []
    salt = f",{NO_BREAK}{speed.salinity * 1e3:.3g}{NO_BREAK}g/kg{NO_BREAK}salt"
    warmth = f"in{NO_BREAK}{round(celsius(speed.water), 1):g}{NO_BREAK}°C"
    return [warmth + (salt if speed.salinity > SAME_SALT else "")]


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
            0.9,
            most_lines=plan.most_lines,
            may_shorten=True,
            may_break=False,
        )
    ]


def foot_rows(label: Label, plan: Shown) -> list[LabelRow]:
    """Return price, note, safety line and, smallest of all, the code."""
    rows = []
    if "price" in plan.parts and label.price:
        rows.append(LabelRow("price", clean(label.price), 1.2, bold=True, most_lines=2, may_break=False))
    if "note" in plan.parts:
        rows.append(LabelRow("note", clean(label.note), 0.85, most_lines=plan.most_lines, may_shorten=True))
    if "warning" in plan.parts:
        rows.append(LabelRow("warning", clean(label.warning), 0.85, bold=True, most_lines=3, may_break=False))
    return [*rows, LabelRow("code", clean(label.code), 0.6, most_lines=2)]
