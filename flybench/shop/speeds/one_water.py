"""Runs of different waters brought to one: which water that is, which runs are away from it, and the step with its doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from flybench.hydraulics.water import Water
from flybench.quantity import Floats
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import change_to_other_water
from flybench.sinking.model.viscosity import ViscosityLaw, sinks_in


@dataclass(frozen=True)
class OneWater:
    """The water that speeds are shown for, why it is that ("given", "set" or "usual"), and the codes of the flies of which
    runs were brought to it; None for the water where nothing was measured. floating, codes of flies with runs in other
    water that could not be brought to it, as the fly would float there: those are shown as they were measured."""

    water: Water | None
    why: str
    brought: tuple[str, ...]
    floating: tuple[str, ...] = ()


def usual_water(runs: Sequence[RunParts]) -> Water | None:
    """Return the water in which most runs were made, the mean of those no farther than 1 K and 1 g/kg from one of them;
    of two with as many runs the colder. None without runs."""
    if not runs:
        return None
    kelvin = np.array([run.temperature for run in runs])
    salt = np.array([run.salinity for run in runs])
    near = _runs_near(kelvin, salt)
    most = min(range(len(runs)), key=lambda place: (-near[place], kelvin[place], salt[place]))
    alike = (np.abs(kelvin - kelvin[most]) <= SAME_WATER) & (np.abs(salt - salt[most]) <= SAME_SALT)
    return Water(float(kelvin[alike].mean()), float(salt[alike].mean()))


def _runs_near(kelvin: Floats, salt: Floats) -> NDArray[np.intp]:
    """Return how many runs were made in the water of each, salt and all."""
    counts = np.zeros(len(kelvin), dtype=np.intp)
    for one in np.unique(salt):
        here = salt == one
        near = np.sort(kelvin[np.abs(salt - one) <= SAME_SALT])
        last = np.searchsorted(near, kelvin[here] + SAME_WATER, "right")
        counts[here] = last - np.searchsorted(near, kelvin[here] - SAME_WATER, "left")
    return counts


class _InWater(Protocol):
    """Whatever was seen in a water: its temperature [K] and salinity [kg/kg]."""

    @property
    def temperature(self) -> float: ...
    @property
    def salinity(self) -> float: ...


def is_away(one: _InWater, water: Water) -> bool:
    """Tell whether something was seen in other water than this: more than 1 K or 1 g/kg away."""
    colder, saltier = one.temperature - water.temperature, one.salinity - water.salinity
    return abs(colder) > SAME_WATER or abs(saltier) > SAME_SALT


def brought_to(
    runs: Sequence[RunParts], known: Sequence[MeasuredFly], law: ViscosityLaw, water: Water
) -> list[RunParts]:
    """Return runs with the step to this water, those in it as they are.

    Parameters: known, the flies of all runs that are away, one record for each water; law, how drag goes with viscosity.
    The doubt of the step is above zero towards colder water and below it towards warmer: a fly dropped on both sides is
    off by less. Runs of a fly that would float there stay as they are.
    """
    steps: dict[tuple[str, float, float], tuple[float, float] | None] = {}
    by_fly: dict[str, list[MeasuredFly]] = {}
    for one in known:
        by_fly.setdefault(one.fly, []).append(one)
    return [_brought(run, by_fly, law, water, steps) for run in runs]


def _brought(
    run: RunParts,
    known: Mapping[str, Sequence[MeasuredFly]],
    law: ViscosityLaw,
    water: Water,
    steps: dict[tuple[str, float, float], tuple[float, float] | None],
) -> RunParts:
    if not is_away(run, water) or run.fly not in known:
        return run
    key = run.fly, run.temperature, run.salinity
    if key not in steps:
        near = min(known[run.fly], key=lambda one: abs(one.temperature - run.temperature))
        here = replace(near, temperature=run.temperature, salinity=run.salinity)
        steps[key] = change_to_other_water(law, here, water) if sinks_in(here, water) else None
    step = steps[key]
    if step is None:
        return run
    change, doubt = step
    return replace(run, correction=change, correction_doubt=doubt, brought_to=water.temperature)
