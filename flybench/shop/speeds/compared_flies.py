"""Flies and variants that are compared: their runs, their set-ups, one water for all of them, and their pairs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.shop.fly.builds import build_of
from flybench.shop.speeds.learning import Learned
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER, SetUp, numbered, set_up_of
from flybench.shop.speeds.sides import (
    FlyRuns,
    RunParts,
    accepted_runs,
    fly_side,
    parts_of_run,
    parts_without_runs,
    variant_side,
)
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import speed_in_other_water
from flybench.statistics.comparing import Comparison, Side, compare

_SHOWN_RUNS = 5
"""Runs named in a message (judgement)."""


@dataclass(frozen=True)
class FlyOrVariant:
    """A fly, or a variant with its measured flies, under one code."""

    code: str
    flies: tuple[Fly, ...]
    is_variant: bool


@dataclass(frozen=True)
class ComparedFlies:
    """Everything that is compared: sides by code, what is known of set-ups, and the water they were brought to.

    temperatures [K] by code, as measured; brought, codes whose speeds were taken to ``water`` by the drag law.
    """

    sides: Mapping[str, Side]
    set_ups: Mapping[int, SetUp | None]
    temperatures: Mapping[str, tuple[float, ...]]
    water: Water
    brought: tuple[str, ...]


def brought_to_one_water(wanted: Sequence[FlyOrVariant], learn: Callable[[], Learned]) -> ComparedFlies:
    """Return flies or variants as sides in one water: that in which most runs were made, the first's where it is even.

    Runs in other water (more than 1 K or 1 g/kg away) are corrected by the drag law learned from the catalog, whose
    doubt goes with them; ``learn`` is called where there are such runs only. Raises BadValueError for what was not measured.
    """
    runs = {fly.id: accepted_runs(fly) for one in wanted for fly in one.flies}
    for one in wanted:
        _check_measured(one, runs)
    rows = [run for found in runs.values() for run in found]
    set_ups = [set_up_of(run) for run in rows]
    numbers = numbered(set_ups, [run.temperature_k for run in rows])
    by_run = {run.id: number for run, number in zip(rows, numbers, strict=True)}
    parts = {fly.id: _run_parts(fly, runs[fly.id], by_run) for one in wanted for fly in one.flies}
    salts = {number: one.salinity for number, one in zip(numbers, set_ups, strict=True) if one is not None}
    water = _water_of_most([run for found in parts.values() for run in found], salts)
    moved, brought = _in_one_water(learn, wanted, parts, water, salts)
    return ComparedFlies(
        {one.code: _side(one, moved) for one in wanted},
        dict(zip(numbers, set_ups, strict=True)),
        {one.code: _temperatures(one, parts) for one in wanted},
        water,
        brought,
    )


def _check_measured(one: FlyOrVariant, runs: Mapping[int, Sequence[BenchRun]]) -> None:
    if any(runs[fly.id] or fly.speed for fly in one.flies):
        return
    noun, code = ("variant", "CODE") if one.is_variant else ("fly", one.code)
    filmed = "a fly of it" if one.is_variant else "it"
    measure = f"Film {filmed} falling and measure it: flybench bench measure CLIP --fly {code}"
    aside = [run.id for fly in one.flies for run in fly.runs]
    if aside:
        listed = ", ".join(str(number) for number in aside[:_SHOWN_RUNS])
        raise BadValueError(
            noun,
            f"none of the runs of {one.code} counts (run {listed}): each is set aside or has no free-water speed",
            f"Let one count with flybench run accept NUMBER, or film and measure again: flybench bench measure CLIP "
            f"--fly {code}",
        )
    if one.is_variant and not one.flies:
        cure = f"Add one: flybench fly add CODE --variant {one.code}. {measure}"
        raise BadValueError(noun, f"no fly of {one.code} is in the catalog, so it has no speed", cure)
    raise BadValueError(noun, f"{one.code} was never measured", measure)


def _run_parts(fly: Fly, runs: Sequence[BenchRun], by_run: Mapping[int, int]) -> list[RunParts]:
    if runs:
        return [parts_of_run(run, by_run[run.id]) for run in runs]
    return [] if fly.speed is None else [parts_without_runs(fly.code, fly.speed, -fly.id)]


def _water_of_most(parts: Sequence[RunParts], salts: Mapping[int, float]) -> Water:
    """Return the water in which most runs were made."""

    def alike(one: RunParts) -> list[RunParts]:
        return [other for other in parts if _one_water(one, other, salts)]

    most = max(parts, key=lambda one: len(alike(one)))
    return Water(most.temperature, salts.get(most.set_up, 0.0))


def _one_water(one: RunParts, other: RunParts, salts: Mapping[int, float]) -> bool:
    apart = abs(salts.get(one.set_up, 0.0) - salts.get(other.set_up, 0.0))
    return abs(one.temperature - other.temperature) <= SAME_WATER and apart <= SAME_SALT


def _in_one_water(
    learn: Callable[[], Learned],
    wanted: Sequence[FlyOrVariant],
    parts: Mapping[int, list[RunParts]],
    water: Water,
    salts: Mapping[int, float],
) -> tuple[dict[int, list[RunParts]], tuple[str, ...]]:
    """Return the runs with those in other water corrected, and the codes of what was corrected."""

    def is_away(run: RunParts) -> bool:
        salt = abs(salts.get(run.set_up, 0.0) - water.salinity)
        return abs(run.temperature - water.temperature) > SAME_WATER or salt > SAME_SALT

    if not any(is_away(run) for found in parts.values() for run in found):
        return dict(parts), ()
    learned = learn()
    moved, brought = dict(parts), []
    for one in wanted:
        for fly in one.flies:
            if any(is_away(run) for run in parts[fly.id]):
                brought.append(one.code)
                moved[fly.id] = [
                    _corrected(learned, fly, run, water, salts.get(run.set_up, 0.0)) if is_away(run) else run
                    for run in parts[fly.id]
                ]
    return moved, tuple(dict.fromkeys(brought))


def _corrected(learned: Learned, fly: Fly, run: RunParts, water: Water, salinity: float) -> RunParts:
    known = [
        one
        for one in learned.measured
        if one.fly == fly.code and abs(one.temperature - run.temperature) <= SAME_WATER
    ]
    weight = known[0].weight if known else None
    measured = MeasuredFly(
        fly.code,
        build_of(fly.variant),
        weight,
        run.speed,
        run.speed * float(np.hypot(run.own, run.per_clip)),
        run.speed * run.shared,
        run.temperature,
        salinity,
        1,
        run.drops,
    )
    there = speed_in_other_water(learned.shop, measured, water)
    return replace(run, correction=there.change, correction_doubt=there.change_uncertainty / there.change)


def _side(one: FlyOrVariant, parts: Mapping[int, list[RunParts]]) -> Side:
    flies = [FlyRuns(fly.code, tuple(parts[fly.id])) for fly in one.flies if parts[fly.id]]
    return replace(variant_side(one.code, flies) if one.is_variant else fly_side(flies[0]), code=one.code)


def _temperatures(one: FlyOrVariant, parts: Mapping[int, list[RunParts]]) -> tuple[float, ...]:
    return tuple(sorted({run.temperature for fly in one.flies for run in parts[fly.id]}))


def of_variant(variant: Variant, flies: Sequence[Fly]) -> FlyOrVariant:
    """Return a variant with its flies, to be compared."""
    return FlyOrVariant(variant.code, tuple(flies), True)


@dataclass(frozen=True)
class Pair:
    """Two sides compared, the faster one first, and whether they were measured in one set-up.

    set_up: "one", "partly" (some runs of each in one) or "different"; differs, what differs, as the sheets have it.
    """

    found: Comparison
    set_up: str
    differs: tuple[str, ...]


@dataclass(frozen=True)
class Compared:
    """All pairs of what was named, and what they come from."""

    pairs: list[Pair]
    flies: ComparedFlies


def pair_of(flies: ComparedFlies, one: Side, other: Side, as_given: bool = False) -> Pair:
    """Return two sides compared, the faster first unless wanted as given."""
    first, second = (one, other) if as_given or one.speed >= other.speed else (other, one)
    ours, theirs = set(one.shared), set(other.shared)
    if ours == theirs and len(ours) == 1:
        return Pair(compare(first, second), "one", ())
    set_up = "partly" if ours & theirs else "different"
    return Pair(
        compare(first, second),
        set_up,
        _differs(flies, min(ours - theirs or ours), min(theirs - ours or theirs)),
    )


def _differs(flies: ComparedFlies, one: int, other: int) -> tuple[str, ...]:
    """Return what differs between two set-ups by number: temperature where the sheets are alike."""
    here, there = flies.set_ups.get(one), flies.set_ups.get(other)
    if here is None or there is None:
        return ("not known for all",)
    return tuple(here.differs(there)) or ("temperature",)
