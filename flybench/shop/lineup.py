"""What is compared, read from the catalog: runs, their set-ups, and one water for all of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.shop.builds import build_of
from flybench.shop.learning import Learned
from flybench.shop.set_ups import SAME_SALT, SAME_WATER, SetUp, numbered, set_up_of
from flybench.shop.sides import (
    Seen,
    SeenFly,
    accepted_runs,
    fly_side,
    seen_run,
    seen_without_runs,
    variant_side,
)
from flybench.sinking.drag.tied_fly import Sunk
from flybench.sinking.model.other_water import elsewhere
from flybench.statistics.comparing import Side


@dataclass(frozen=True)
class Contender:
    """A fly, or a variant with its measured flies, under one code."""

    code: str
    flies: tuple[Fly, ...]
    is_variant: bool


@dataclass(frozen=True)
class Lineup:
    """Everything that is compared: sides by code, what is known of set-ups, and the water they were brought to.

    celsius by code, as measured; brought, codes whose speeds were taken to ``water`` by the drag law.
    """

    sides: Mapping[str, Side]
    set_ups: Mapping[int, SetUp | None]
    temperatures: Mapping[str, tuple[float, ...]]
    water: Water
    brought: tuple[str, ...]


def read_lineup(contenders: Sequence[Contender], learn: Callable[[], Learned]) -> Lineup:
    """Return contenders as sides in one water: that in which most runs were made, the first's where it is even.

    Runs in other water (more than 1 K or 1 g/kg away) are corrected by the drag law learned from the catalog, whose
    doubt goes with them; ``learn`` is called where there are such runs only. Raises BadValueError for what was not measured.
    """
    runs = {fly.id: accepted_runs(fly) for one in contenders for fly in one.flies}
    for one in contenders:
        _check_measured(one, runs)
    rows = [run for found in runs.values() for run in found]
    set_ups = [set_up_of(run) for run in rows]
    numbers = numbered(set_ups, [run.temperature_k for run in rows])
    by_run = {run.id: number for run, number in zip(rows, numbers, strict=True)}
    seen = {fly.id: _seen(fly, runs[fly.id], by_run) for one in contenders for fly in one.flies}
    salts = {number: one.salinity for number, one in zip(numbers, set_ups, strict=True) if one is not None}
    water = _water_of_most([run for found in seen.values() for run in found], salts)
    moved, brought = _in_one_water(learn, contenders, seen, water, salts)
    return Lineup(
        {one.code: _side(one, moved) for one in contenders},
        dict(zip(numbers, set_ups, strict=True)),
        {one.code: _temperatures(one, seen) for one in contenders},
        water,
        brought,
    )


def _check_measured(one: Contender, runs: Mapping[int, Sequence[BenchRun]]) -> None:
    if any(runs[fly.id] or fly.speed for fly in one.flies):
        return
    noun = "variant" if one.is_variant else "fly"
    clip = f"flybench bench measure CLIP --fly {'CODE' if one.is_variant else one.code}"
    aside = [run.id for fly in one.flies for run in fly.runs]
    if aside:
        listed = ", ".join(str(number) for number in aside[:5])
        problem = (
            f"none of the runs of {one.code} counts (run {listed}): set aside, or without a free-water speed"
        )
        raise BadValueError(
            noun, problem, f"Let one count: flybench run accept NUMBER, or measure anew: {clip}"
        )
    if one.is_variant and not one.flies:
        raise BadValueError(noun, f"{one.code} has no tied fly, so no speed", f"Add one and drop it: {clip}")
    raise BadValueError(noun, f"{one.code} was not measured", f"Film it falling and measure it: {clip}")


def _seen(fly: Fly, runs: Sequence[BenchRun], by_run: Mapping[int, int]) -> list[Seen]:
    if runs:
        return [seen_run(run, by_run[run.id]) for run in runs]
    return [] if fly.speed is None else [seen_without_runs(fly.code, fly.speed, -fly.id)]


def _water_of_most(seen: Sequence[Seen], salts: Mapping[int, float]) -> Water:
    """Return the water in which most runs were made."""

    def alike(one: Seen) -> list[Seen]:
        return [other for other in seen if _one_water(one, other, salts)]

    most = max(seen, key=lambda one: len(alike(one)))
    return Water(most.temperature, salts.get(most.set_up, 0.0))


def _one_water(one: Seen, other: Seen, salts: Mapping[int, float]) -> bool:
    apart = abs(salts.get(one.set_up, 0.0) - salts.get(other.set_up, 0.0))
    return abs(one.temperature - other.temperature) <= SAME_WATER and apart <= SAME_SALT


def _in_one_water(
    learn: Callable[[], Learned],
    contenders: Sequence[Contender],
    seen: Mapping[int, list[Seen]],
    water: Water,
    salts: Mapping[int, float],
) -> tuple[dict[int, list[Seen]], tuple[str, ...]]:
    """Return the runs with those in other water corrected, and the codes of what was corrected."""

    def is_away(run: Seen) -> bool:
        salt = abs(salts.get(run.set_up, 0.0) - water.salinity)
        return abs(run.temperature - water.temperature) > SAME_WATER or salt > SAME_SALT

    if not any(is_away(run) for found in seen.values() for run in found):
        return dict(seen), ()
    learned = learn()
    moved, brought = dict(seen), []
    for one in contenders:
        for fly in one.flies:
            if any(is_away(run) for run in seen[fly.id]):
                brought.append(one.code)
                moved[fly.id] = [
                    _corrected(learned, fly, run, water, salts.get(run.set_up, 0.0)) if is_away(run) else run
                    for run in seen[fly.id]
                ]
    return moved, tuple(dict.fromkeys(brought))


def _corrected(learned: Learned, fly: Fly, run: Seen, water: Water, salinity: float) -> Seen:
    known = [
        one
        for one in learned.sunk
        if one.fly == fly.code and abs(one.temperature - run.temperature) <= SAME_WATER
    ]
    weight = known[0].weight if known else None
    sunk = Sunk(
        fly.code,
        build_of(fly.variant),
        weight,
        run.speed,
        run.speed * float(np.hypot(run.own, run.anew)),
        run.speed * run.shared,
        run.temperature,
        salinity,
        1,
        run.drops,
    )
    there = elsewhere(learned.shop, sunk, water)
    return replace(run, correction=there.change, correction_doubt=there.change_uncertainty / there.change)


def _side(one: Contender, seen: Mapping[int, list[Seen]]) -> Side:
    flies = [SeenFly(fly.code, tuple(seen[fly.id])) for fly in one.flies if seen[fly.id]]
    return replace(variant_side(one.code, flies) if one.is_variant else fly_side(flies[0]), code=one.code)


def _temperatures(one: Contender, seen: Mapping[int, list[Seen]]) -> tuple[float, ...]:
    return tuple(sorted({run.temperature for fly in one.flies for run in seen[fly.id]}))


def variant_contender(variant: Variant, flies: Sequence[Fly]) -> Contender:
    """Return a variant with its flies."""
    return Contender(variant.code, tuple(flies), True)
