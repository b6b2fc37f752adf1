"""Whether a build lies within what was ever measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from flybench.sinking.drag.tied_fly import Build, Sunk

_MARGIN = 0.05
_MEASURES: tuple[tuple[str, Callable[[Build], float], str], ...] = (
    ("bead", lambda build: (build.bead_diameter or 0.0) * 1e3, "mm"),
    ("hook gape", lambda build: build.hook_gape * 1e3, "mm"),
    ("hackle", lambda build: build.hackle_turns, "turns"),
    ("loose dressing", lambda build: build.loose_mass * 1e6, "mg"),
)


def outside(build: Build, weight: float, sunk: Sequence[Sunk]) -> list[str]:
    """Return in words where a build of this weight [N] leaves what was measured; empty where it does not.

    Looked at: its style and pattern, and bead, hook, hackle, loose dressing and weight against the smallest and
    largest among the measured flies with a known weight (5 % beyond is let pass).
    """
    known = [one for one in sunk if one.weight is not None]
    if not known:
        return ["no fly with a known weight was measured: physics and usual dressings alone"]
    told = []
    if build.style not in {one.build.style for one in known}:
        told.append(f"no {build.style} fly was measured")
    elif build.pattern not in {one.build.pattern for one in known}:
        told.append(f"no fly of the pattern {build.pattern} was measured")
    for name, measure, unit in _MEASURES:
        told += _beyond(name, measure(build), [measure(one.build) for one in known], unit)
    weights = [one.weight.weight.value * 1e3 for one in known if one.weight is not None]
    return told + _beyond("weight in water", weight * 1e3, weights, "mN")


def _beyond(name: str, value: float, measured: Sequence[float], unit: str) -> list[str]:
    low, high = min(measured), max(measured)
    if low * (1 - _MARGIN) <= value <= high * (1 + _MARGIN):
        return []
    return [f"{name} {value:.3g} {unit}, measured were {low:.3g} to {high:.3g}"]
