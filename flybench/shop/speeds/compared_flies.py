"""Flies and variants that are compared: their runs, their set-ups, one water for all of them, and their pairs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.shop.fly.builds import build_of
from flybench.shop.speeds.learning import Learned
from flybench.shop.speeds.one_water import is_away
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.set_ups import SAME_WATER, SetUp
from flybench.shop.speeds.shared_errors import Shared
from flybench.shop.speeds.shop_runs import ShopRuns
from flybench.shop.speeds.shop_spreads import ShopSpreads
from flybench.shop.speeds.sides import FlyRuns, fly_side, variant_side
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import speed_in_other_water
from flybench.statistics.comparing import ALIKE, Beforehand, Comparison, Side, compare

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
    """Everything that is compared: sides by code, their set-ups, and the water they were brought to.

    temperatures [K] by code, as measured; brought, codes whose speeds were taken to ``water`` by the drag law; spreads,
    what the shop's runs show of spreads; variants, whose flies they are, by code ("" for a variant itself); clips, by code.
    """

    sides: Mapping[str, Side]
    set_ups: Mapping[str, tuple[SetUp | None, ...]]
    temperatures: Mapping[str, tuple[float, ...]]
    water: Water
    brought: tuple[str, ...]
    spreads: ShopSpreads
    variants: Mapping[str, str]
    clips: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def of_one_clip(self, one: str, other: str) -> bool:
        """Tell whether two have a clip in common, which cannot show how they differ."""
        return not self.clips.get(one, frozenset()).isdisjoint(self.clips.get(other, frozenset()))


def brought_to_one_water(
    wanted: Sequence[FlyOrVariant], learn: Callable[[], Learned], shop: ShopRuns, water: Water | None
) -> ComparedFlies:
    """Return flies or variants as sides in one water: the one that the shop's runs were brought to.

    Speeds that stand in the catalog without runs, and were measured in other water (more than 1 K or 1 g/kg away), are
    corrected by the drag law learned from the catalog, whose doubt goes with them; ``learn`` is called where there are such
    only, and without any run of the shop (``water`` is None) the water is that of most of them. Raises BadValueError for
    what was not measured.
    """
    parts = {fly.id: list(shop.of(fly)) for one in wanted for fly in one.flies}
    for one in wanted:
        _check_measured(one, parts)
    water = water or _water_of_most([run for found in parts.values() for run in found])
    moved, brought = _in_one_water(learn, wanted, parts, water)
    return ComparedFlies(
        {one.code: side_of(one, moved, shop.spreads) for one in wanted},
        {one.code: tuple(run.set_up for fly in one.flies for run in parts[fly.id]) for one in wanted},
        {one.code: _temperatures(one, parts) for one in wanted},
        water,
        brought,
        shop.spreads,
        {one.code: "" if one.is_variant else one.flies[0].variant.code for one in wanted},
        {one.code: _clips(one, parts) for one in wanted},
    )


def _clips(one: FlyOrVariant, parts: Mapping[int, Sequence[RunParts]]) -> frozenset[str]:
    return frozenset(run.clip for fly in one.flies for run in parts[fly.id] if run.clip)


def _check_measured(one: FlyOrVariant, runs: Mapping[int, Sequence[RunParts]]) -> None:
    if any(runs[fly.id] for fly in one.flies):
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


def _water_of_most(parts: Sequence[RunParts]) -> Water:
    """Return the water in which most runs were made."""

    def alike(one: RunParts) -> list[RunParts]:
        return [other for other in parts if not is_away(other, one.water)]

    return max(parts, key=lambda one: len(alike(one))).water


def _in_one_water(
    learn: Callable[[], Learned],
    wanted: Sequence[FlyOrVariant],
    parts: Mapping[int, list[RunParts]],
    water: Water,
) -> tuple[dict[int, list[RunParts]], tuple[str, ...]]:
    """Return the runs with those in other water corrected, and the codes of what was brought to this water."""

    def left(run: RunParts) -> bool:
        return run.brought_to is None and is_away(run, water)

    moved = dict(parts)
    if any(left(run) for found in parts.values() for run in found):
        learned = learn()
        for fly in (fly for one in wanted for fly in one.flies):
            moved[fly.id] = [
                _corrected(learned, fly, run, water) if left(run) else run for run in parts[fly.id]
            ]
    brought = [
        one.code
        for one in wanted
        if any(run.brought_to or left(run) for fly in one.flies for run in parts[fly.id])
    ]
    return moved, tuple(dict.fromkeys(brought))


def _corrected(learned: Learned, fly: Fly, run: RunParts, water: Water) -> RunParts:
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
        run.speed * run.own,
        run.speed * math.hypot(*run.shares.values()),
        run.temperature,
        run.salinity,
        1,
        run.drops,
    )
    there = speed_in_other_water(learned.viscosity, measured, water)
    return replace(run, correction=there.change, correction_doubt=there.change_uncertainty / there.change)


def side_of(one: FlyOrVariant, parts: Mapping[int, Sequence[RunParts]], spreads: ShopSpreads) -> Side:
    """Return a fly or variant as a side, its runs by the number of the fly; at least one of its flies has some."""
    flies = [FlyRuns(fly.code, tuple(parts[fly.id])) for fly in one.flies if parts[fly.id]]
    side = variant_side(one.code, flies, spreads) if one.is_variant else fly_side(flies[0], spreads)
    return replace(side, code=one.code)


def _temperatures(one: FlyOrVariant, parts: Mapping[int, list[RunParts]]) -> tuple[float, ...]:
    return tuple(sorted({run.temperature for fly in one.flies for run in parts[fly.id]}))


def of_variant(variant: Variant, flies: Sequence[Fly]) -> FlyOrVariant:
    """Return a variant with its flies, to be compared."""
    return FlyOrVariant(variant.code, tuple(flies), True)


@dataclass(frozen=True)
class Pair:
    """Two sides compared, the faster one first, and what they were measured with.

    set_up: whether in one set-up on one evening: "one", "partly" (some runs of each) or "different"; differs, what differs,
    as the sheets have it; cancels, what both have their error from, as ``shared_errors`` names it ("card", "camera", "hand").
    """

    found: Comparison
    set_up: str
    differs: tuple[str, ...]
    cancels: tuple[str, ...]


@dataclass(frozen=True)
class Compared:
    """All pairs of what was named, and what they come from."""

    pairs: list[Pair]
    flies: ComparedFlies


def pair_of(flies: ComparedFlies, one: Side, other: Side, as_given: bool = False) -> Pair:
    """Return two sides compared, the faster first unless wanted as given."""
    first, second = (one, other) if as_given or one.speed >= other.speed else (other, one)
    ours, theirs = flies.set_ups[one.code], flies.set_ups[other.code]
    both = set(ours) & set(theirs) - {None}
    cancels = tuple(sorted({what for what, _ in _of_both(one, other)}))
    known = None if flies.of_one_clip(one.code, other.code) else _beforehand(flies, first, second)
    found = compare(first, second, known)
    if len(both) == 1 and set(ours) == set(theirs) == both:
        return Pair(found, "one", (), cancels)
    here, there = _unlike(ours, theirs, both), _unlike(theirs, ours, both)
    differs = ("not known for all",) if here is None or there is None else tuple(here.differs(there))
    return Pair(found, "partly" if both else "different", differs, cancels)


def _beforehand(flies: ComparedFlies, one: Side, other: Side) -> Beforehand:
    """Return what is known of two flies before they are measured: how much those of one variant, or of a shop, differ."""
    speed, variant = math.sqrt(one.speed * other.speed), flies.variants[one.code]
    same = bool(variant) and variant == flies.variants[other.code]
    size, squares = flies.spreads.between_two(variant) if same else (flies.spreads.variants, (1.0,))
    return Beforehand(math.sqrt(2.0) * size * speed, ALIKE * speed, squares)


def _of_both(one: Side, other: Side) -> set[Shared]:
    return {shared for shared in one.shared if shared in other.shared}


def _unlike(
    ours: Sequence[SetUp | None], theirs: Sequence[SetUp | None], both: set[SetUp | None]
) -> SetUp | None:
    """Return one set-up of the first that the other has not, else any that both have."""
    return next((one for one in ours if one not in theirs), next(iter(both), None))
