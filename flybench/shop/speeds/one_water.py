"""Runs of different waters brought to one: which water that is, which runs are away from it, and the step with its doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from flybench.hydraulics.water import Water
from flybench.quantity import ZERO_CELSIUS, Floats
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import change_to_other_water
from flybench.sinking.model.viscosity import ViscosityLaw, sinks_in

_STEP, _STEP_OF_SALT = 0.05, 1e-4
"""Steps of the usual water [K], [kg/kg]: much finer than what counts as one water (judgement)."""


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
    """Return the water in which most runs were made; see ``water_of_most``. None without runs."""
    return water_of_most([(run.temperature, run.salinity, 1) for run in runs])


def water_of_most(waters: Sequence[tuple[float, float, int]]) -> Water | None:
    """Return the water in which most runs were made, the mean of those no farther than 1 K and 1 g/kg from one of them;
    of two with as many runs the colder. None without runs.

    Parameters: temperature [K], salinity [kg/kg] and number of runs of each. The mean goes by steps of 0.05 K and 0.1 g/kg,
    so that one more run seldom moves the water that all speeds are shown for.
    """
    if not waters:
        return None
    kelvin, salt, count = (np.array(column, dtype=float) for column in zip(*waters, strict=True))
    near = _runs_near(kelvin, salt, count)
    most = min(range(len(kelvin)), key=lambda place: (-near[place], kelvin[place], salt[place]))
    alike = (np.abs(kelvin - kelvin[most]) <= SAME_WATER) & (np.abs(salt - salt[most]) <= SAME_SALT)
    mean = float(np.average(kelvin[alike], weights=count[alike]))
    salty = float(np.average(salt[alike], weights=count[alike]))
    return Water(_to_step(mean - ZERO_CELSIUS, _STEP) + ZERO_CELSIUS, _to_step(salty, _STEP_OF_SALT))


def _to_step(value: float, step: float) -> float:
    return round(value / step) * step


def _runs_near(kelvin: Floats, salt: Floats, count: Floats) -> Floats:
    """Return how many runs were made in the water of each, salt and all."""
    counts = np.zeros(len(kelvin))
    for one in np.unique(salt):
        here = salt == one
        alike = np.abs(salt - one) <= SAME_SALT
        order = np.argsort(kelvin[alike], kind="stable")
        near, upto = kelvin[alike][order], np.cumsum([0.0, *count[alike][order]])
        last = upto[np.searchsorted(near, kelvin[here] + SAME_WATER, "right")]
        counts[here] = last - upto[np.searchsorted(near, kelvin[here] - SAME_WATER, "left")]
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
