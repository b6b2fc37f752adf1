"""Measured flies or variants set against each other, pair by pair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get, named
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError
from flybench.jobs.sink.learn import learn
from flybench.shop.lineup import Contender, Lineup, read_lineup, variant_contender
from flybench.statistics.comparing import Comparison, Side, compare

MOST_CODES = 20
"""More at once make a list of pairs that nobody reads."""


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
    lineup: Lineup


def compare_measured(catalog: Catalog, codes: Sequence[str], variants: bool = False) -> Compared:
    """Return every pair of the named flies (or variants), in the order named, the faster of each first.

    Raises BadValueError for fewer than two codes, more than 20, one named twice, one unknown or not measured.
    """
    _check_number(codes, variants)
    with catalog.reading() as session:
        contenders = [_contender(session, code, variants) for code in codes]
        _check_distinct([one.code for one in contenders])
        lineup = read_lineup(contenders, partial(learn, session))
    sides = [lineup.sides[one.code] for one in contenders]
    return Compared([pair_of(lineup, one, other) for one, other in combinations(sides, 2)], lineup)


def pair_of(lineup: Lineup, one: Side, other: Side, as_given: bool = False) -> Pair:
    """Return two sides compared, the faster first unless wanted as given."""
    first, second = (one, other) if as_given or one.speed >= other.speed else (other, one)
    ours, theirs = set(one.shared), set(other.shared)
    if ours == theirs and len(ours) == 1:
        return Pair(compare(first, second), "one", ())
    set_up = "partly" if ours & theirs else "different"
    return Pair(
        compare(first, second),
        set_up,
        _differs(lineup, min(ours - theirs or ours), min(theirs - ours or theirs)),
    )


def _differs(lineup: Lineup, one: int, other: int) -> tuple[str, ...]:
    """Return what differs between two set-ups by number: temperature where the sheets are alike."""
    here, there = lineup.set_ups.get(one), lineup.set_ups.get(other)
    if here is None or there is None:
        return ("not known for all",)
    return tuple(here.differs(there)) or ("temperature",)


def _contender(session: Session, code: str, variants: bool) -> Contender:
    if variants:
        variant: Variant = get(session, NOUNS["variant"], code)
        flies = session.scalars(select(Fly).where(Fly.variant_id == variant.id).order_by(Fly.code))
        return variant_contender(variant, flies.all())
    if named(session, Fly, code.strip()) is None and named(session, Variant, code.strip()) is not None:
        raise BadValueError("fly", f'"{code}" is a variant', "Add --variants to compare variants")
    fly: Fly = get(session, NOUNS["fly"], code)
    return Contender(fly.code, (fly,), False)


def _check_number(codes: Sequence[str], variants: bool) -> None:
    what = "variants" if variants else "flies"
    if len(codes) < 2:
        problem = f"one of the {what} alone was named" if codes else f"no {what} were named"
        cure = "Name two or more, as in: flybench sink compare A B, or pair by one thing: --change bead"
        raise BadValueError("codes", problem, cure)
    if len(codes) > MOST_CODES:
        raise BadValueError("codes", f"{len(codes)} are too many at once", f"Name {MOST_CODES} at most")


def _check_distinct(codes: Sequence[str]) -> None:
    for place, code in enumerate(codes):
        if code in codes[:place]:
            raise BadValueError("codes", f"{code} is named twice", "Name each once")
