"""Measured flies or variants of a catalog set against each other, pair by pair, and what one change does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import combinations

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import loaded, select_rows
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.shelf.rows import get, named
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Bead, Hook
from flybench.catalog.tables.patterns import Pattern, Step, Variant, VariantChange
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.shelf.one_water import in_shown_water
from flybench.jobs.sink.learn import learn
from flybench.shop.speeds.compared_flies import (
    Compared,
    ComparedFlies,
    FlyOrVariant,
    brought_to_one_water,
    of_variant,
    pair_of,
)
from flybench.shop.speeds.one_change import CHANGES, Couple, OneChange, couples_of, one_change_of
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.set_ups import set_up_of

MOST_CODES = 20
"""More at once make a list of pairs that nobody reads (judgement)."""


def compare_measured(catalog: Catalog, codes: Sequence[str], variants: bool = False) -> Compared:
    """Return every pair of the named flies (or variants), in the order named, the faster of each first.

    Raises BadValueError for fewer than two codes, more than 20, one named twice, one unknown or not measured.
    """
    _check_number(codes, variants)
    with catalog.reading() as session:
        wanted = [_named(session, code, variants) for code in codes]
        _check_distinct([one.code for one in wanted])
        flies = _in_one_water(session, wanted)
    sides = [flies.sides[one.code] for one in wanted]
    return Compared([pair_of(flies, one, other) for one, other in combinations(sides, 2)], flies)


def _in_one_water(session: Session, wanted: Sequence[FlyOrVariant]) -> ComparedFlies:
    """Return sides in the water that the ladder, lists and labels are for."""
    codes = [fly.code for one in wanted for fly in one.flies]
    shop, one = in_shown_water(session, flies=codes)
    with_set_ups = replace(shop, by_fly=_with_set_ups(session, shop.by_fly, codes))
    return brought_to_one_water(wanted, partial(learn, session), with_set_ups, one.water)


def _with_set_ups(
    session: Session, by_fly: Mapping[str, tuple[RunParts, ...]], codes: Sequence[str]
) -> dict[str, tuple[RunParts, ...]]:
    """Return the runs of some flies with the set-ups that their sheets tell."""
    set_ups = {run.number: set_up_of(run) for run in counting_runs(session, flies=codes)}
    return {
        fly: tuple(replace(run, set_up=set_ups.get(run.number)) for run in by_fly[fly])
        for fly in codes
        if fly in by_fly
    }


def _named(session: Session, code: str, variants: bool) -> FlyOrVariant:
    if variants:
        variant: Variant = get(session, NOUNS["variant"], code)
        flies = session.scalars(select(Fly).where(Fly.variant_id == variant.id).order_by(Fly.code))
        return of_variant(variant, flies.all())
    if named(session, Fly, code.strip()) is None and named(session, Variant, code.strip()) is not None:
        raise BadValueError("CODE", f'"{code}" is a variant, not a fly', "Add --variants to compare variants")
    fly: Fly = get(session, NOUNS["fly"], code)
    return FlyOrVariant(fly.code, (fly,), False)


def _check_number(codes: Sequence[str], variants: bool) -> None:
    what = "variant" if variants else "fly"
    if len(codes) < 2:
        problem = f"only one {what} was named" if codes else f"no {what} was named"
        cure = (
            "Name two or more, as in flybench sink compare A B, or compare all that differ in one thing: "
            "flybench sink compare --change bead"
        )
        raise BadValueError("CODE", problem, cure)
    if len(codes) > MOST_CODES:
        raise BadValueError("CODE", f"{len(codes)} are too many at once", f"Name at most {MOST_CODES}")


def _check_distinct(codes: Sequence[str]) -> None:
    for place, code in enumerate(codes):
        if code in codes[:place]:
            raise BadValueError("CODE", f"{code} is named twice", "Name each once")


def one_change(catalog: Catalog, what: str, query: Sequence[str] = ()) -> OneChange:
    """Return the pairs of measured variants, of those a query finds, that differ in nothing but ``what``.

    Within one pattern, with all else alike, variants are ordered by it and each is set against the next one.
    Raises BadValueError for an unknown change or a bad query, FlybenchError where there is no such pair.
    """
    if what not in CHANGES:
        raise BadValueError("--change", f'"{what}" is not known', f"Use one of {', '.join(CHANGES)}")
    with catalog.reading() as session:
        variants = _measured(session, query)
        couples = list(couples_of(variants, what))
        if not couples:
            raise FlybenchError(_no_couple(variants, what, query))
        flies = _in_one_water(session, _with_flies(session, couples))
        return one_change_of(what, couples, flies)


def _measured(session: Session, query: Sequence[str]) -> list[Variant]:
    rows = select_rows(session, NOUNS["variant"], narrowed(query, "sink:any"), "code", 0, ("code",))
    codes = [row["code"] for row in rows]
    load = (
        selectinload(Variant.pattern).selectinload(Pattern.steps).selectinload(Step.material),
        selectinload(Variant.changes).selectinload(VariantChange.material),
        selectinload(Variant.hook).selectinload(Hook.material),
        selectinload(Variant.bead).selectinload(Bead.material),
    )
    return list(loaded(session, select(Variant).order_by(Variant.code).options(*load), Variant.code, codes))


def _with_flies(session: Session, couples: Sequence[Couple]) -> list[FlyOrVariant]:
    variants = {variant.id: variant for couple in couples for variant in couple}
    flies: dict[int, list[Fly]] = {key: [] for key in variants}
    for fly in loaded(session, select(Fly).order_by(Fly.code), Fly.variant_id, list(variants)):
        flies[fly.variant_id].append(fly)
    return [of_variant(variant, flies[key]) for key, variant in variants.items()]


def _no_couple(variants: Sequence[Variant], what: str, query: Sequence[str]) -> str:
    where = "that the query finds" if query else "in the catalog"
    if len(variants) < 2:
        count = "Only one variant" if variants else "No variant"
        return (
            f"{count} {where} was measured, and a comparison takes two. Measure flies of more variants: "
            "flybench bench measure CLIP --fly CODE"
        )
    return (
        f"Of the {len(variants)} measured variants {where} no two of one pattern differ in the {what} alone. "
        f"Tie one that is like another but for its {what}, drop both, and compare again."
    )
