"""Bench runs fitted again: before and after in words, and the machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.jobs.shelf.refit import Refit, RefitSpeed
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded
from flybench.telling.wording import counted


def lines(one: Refit) -> list[str]:
    """Return a run before and after, and what changed in its flags and drops."""
    lines = [f"run {one.number}  {one.fly}  {one.clip}"]
    lines.append(f"  tank        {_change(one.old, one.new)}  {_words(one.old_verdict, one.new_verdict)}")
    lines.append(f"  free water  {_change(one.old_free, one.new_free)}")
    lines += [f"  new flag: {flag}" for flag in one.gained] + [f"  flag gone: {flag}" for flag in one.lost]
    for drop in one.drops:
        if drop.old != drop.new:
            lines.append(f"  drop at {drop.start_s:.2f} s  {_change(drop.old, drop.new)}")
    return lines


def summary(found: Sequence[Refit], written: bool) -> str:
    """Return the last line: how many runs, and whether the new results were kept."""
    runs = f"{counted(len(found), 'run')} fitted again"
    if written:
        return f"{runs}; the new results are in the catalog."
    return f"{runs}; nothing was changed. Add --write to keep the new results."


def _change(old: RefitSpeed | None, new: RefitSpeed | None) -> str:
    before, after = _speed(old), _speed(new)
    return f"{before}, unchanged" if before == after else f"{before} -> {after}"


def _words(old: str, new: str) -> str:
    return old if old == new else f"{old} -> {new}"


def _speed(speed: RefitSpeed | None) -> str:
    """Return a speed in cm/s with +- (k = 2)."""
    if speed is None:
        return "not found"
    if speed.value is None or not speed.uncertainty:
        return "no speed"
    value, spread = rounded(speed.value * 100, COVERAGE_FACTOR * speed.uncertainty * 100)
    return f"{value} ± {spread} cm/s"


def record(one: Refit) -> dict[str, Any]:
    """Return the machine form: SI units, null where there is no speed."""
    return {
        "number": one.number,
        "fly": one.fly,
        "clip": one.clip,
        "old": _side(one.old, one.old_free, one.old_verdict),
        "new": _side(one.new, one.new_free, one.new_verdict),
        "flags_gained": one.gained,
        "flags_lost": one.lost,
        "drops": [
            {"start_s": drop.start_s, "old": _named(drop.old), "new": _named(drop.new)} for drop in one.drops
        ],
    }


def _side(tank: RefitSpeed, free: RefitSpeed, verdict: str) -> dict[str, Any]:
    return {"verdict": verdict, "tank": _named(tank), "free_water": _named(free)}


def _named(speed: RefitSpeed | None) -> dict[str, float | None] | None:
    if speed is None:
        return None
    return {"sink_speed_m_s": speed.value, "standard_uncertainty_m_s": speed.uncertainty}
