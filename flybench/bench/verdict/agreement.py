"""Whether the drops of a clip agree: odd ones flagged, strays left out, and no mean where there is none."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.verdict.result import MeasuredDrop

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_ODD = 0.06
"""How far from the middle drop one is odd, relative [-]: four times the usual spread of 1.5 % (judgement)."""
_FAR = 0.20
"""How far from the middle drop, as a ratio less one, a drop has no place in the mean [-]: four times the spread of a fly
that scatters by 5 %, which is much; a hand, another fly or a bubble gets there (judgement)."""
_ALIKE = 0.03
"""Largest difference of strays that agree with one another, relative [-]: the usual spread of 1.5 % twice (judgement)."""
_DOUBTS = 3.0
"""The drop's own standard uncertainties added to both limits [-] (judgement)."""
_FEWEST = 3
"""Drops from which one can be odd [-]: of two that differ nobody knows which."""
COMPARED = ("stray-drop", "no-common-speed")
"""The flags that refuse a drop only because of what the others did."""


def compared(measured: list[MeasuredDrop]) -> list[MeasuredDrop]:
    """Return the drops with what comparing the usable ones tells flagged on them.

    A drop far from others that agree and are in the majority is left out (stray-drop). Where no majority
    agrees, or those far off agree with one another, as in a clip of which a part is slowed down, there is no mean
    (no-common-speed, on all of them). One that is merely odd stays in.
    """
    used = [drop for drop in measured if drop.used]
    far = _far(used)
    rest = [drop for drop, is_far in zip(used, far, strict=True) if not is_far]
    strays = [drop for drop, is_far in zip(used, far, strict=True) if is_far]
    if 2 * len(rest) <= len(used) or any(_far(rest)) or _alike(strays):
        return _flagged(measured, used, "no-common-speed")
    left = _flagged(measured, strays, "stray-drop")
    return _flagged(left, _odd(rest), "odd-drop")


def _alike(strays: list[MeasuredDrop]) -> bool:
    """Tell whether two strays or more have one speed, as by chance they hardly do."""
    speeds = _speeds(strays)
    return len(speeds) >= 2 and float(speeds.max() / speeds.min()) - 1.0 < _ALIKE


_CLOCKS = (2.0, 4.0, 8.0)
"""Factors by which phones and editors slow a part of a clip down [-] (common practice, no source)."""
_NEAR_CLOCK = 0.1
"""How near to such a factor the speeds must be, relative [-]: four times the spread of a fly that scatters by 2.5 %, so that
two other flies get there by chance in one case of five (judgement)."""


def two_clocks(measured: list[MeasuredDrop], edited: bool = False) -> list[MeasuredDrop]:
    """Return the drops, a stray one that is 2, 4 or 8 times as fast or slow as the others with that said of it.

    A part of the clip may be in slow motion then, and nothing tells which. Beyond twice as fast no mean is given. In a
    clip that may be ``edited`` any stray that is faster is such a one: editors slow by whatever they are told.
    """
    factors = _clock_factors(measured, edited)
    told = [
        replace(drop, why=f"{factors[number]:.2g} times as fast as the others") if number in factors else drop
        for number, drop in enumerate(measured)
    ]
    if max(factors.values(), default=1.0) <= _CLOCKS[0]:
        return told
    return _flagged(told, [drop for drop in told if drop.used], "two-clocks")


def clock_factor(measured: list[MeasuredDrop], edited: bool = False) -> float | None:
    """Return by what factor a stray drop is faster than those used, or below 1 slower [-]; None where it is near none."""
    return max(_clock_factors(measured, edited).values(), default=None)


def _clock_factors(measured: list[MeasuredDrop], edited: bool) -> dict[int, float]:
    """Return the factor of _CLOCKS, or one over it, of each stray drop whose speed is near that, by its place."""
    used = [drop for drop in measured if drop.used]
    if not used:
        return {}
    middle = float(np.median(_speeds(used)))
    ratios = {
        number: drop.fit.terminal_speed / middle
        for number, drop in enumerate(measured)
        if "stray-drop" in drop.flags and drop.fit
    }
    found = {number: _clock_of(ratio, edited) for number, ratio in ratios.items()}
    return {number: factor for number, factor in found.items() if factor is not None}


def _clock_of(ratio: float, edited: bool) -> float | None:
    near = [one for factor in _CLOCKS for one in (factor, 1 / factor) if abs(ratio / one - 1.0) < _NEAR_CLOCK]
    return near[0] if near else ratio if edited and ratio > 1.0 else None


def _far(used: list[MeasuredDrop]) -> list[bool]:
    """Tell which drops have no place in a mean; of two that differ, both."""
    if len(used) < 2:
        return [False] * len(used)
    speeds, own = _speeds(used), np.array([drop.uncertainty for drop in used])
    middle = float(np.median(speeds)) if len(used) >= _FEWEST else float(speeds.min())
    ratio = np.maximum(speeds / middle, middle / speeds) - 1.0
    far = ratio > _FAR + _DOUBTS * own / middle
    return [bool(one) for one in (far if len(used) >= _FEWEST else np.full(2, far.any()))]


def _odd(used: list[MeasuredDrop]) -> list[MeasuredDrop]:
    """Return the drops that are far from the middle one of at least three."""
    if len(used) < _FEWEST:
        return []
    speeds = _speeds(used)
    off = np.abs(speeds / np.median(speeds) - 1.0)
    return [
        drop
        for drop, one, speed in zip(used, off, speeds, strict=True)
        if one > _ODD + _DOUBTS * drop.uncertainty / speed
    ]


def _speeds(used: list[MeasuredDrop]) -> Floats:
    return np.array([drop.fit.terminal_speed for drop in used if drop.fit])


def _flagged(measured: list[MeasuredDrop], chosen: Collection[MeasuredDrop], flag: str) -> list[MeasuredDrop]:
    """Return the drops, the chosen ones with the flag."""
    names = {id(drop) for drop in chosen}
    return [replace(drop, flags=[*drop.flags, flag]) if id(drop) in names else drop for drop in measured]
