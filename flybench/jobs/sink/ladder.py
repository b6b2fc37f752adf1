"""The ladder of a catalog: its measured flies from slowest to fastest."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row, count, loaded, select_rows
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.jobs.shelf.one_water import runs_in_one_water
from flybench.shop.speeds.compared_flies import FlyOrVariant, side_of
from flybench.shop.speeds.ladder import Ladder, LadderRung, ties_of
from flybench.shop.speeds.shop_runs import ShopRuns, shop_runs
from flybench.statistics.comparing import DoubtPart, Repeat, Side


def ladder(
    catalog: Catalog,
    query: Sequence[str] = (),
    variants: bool = False,
    limit: int = 0,
    temperature: float | None = None,
    salinity: float = 0.0,
) -> Ladder:
    """Return the ladder of the flies (or variants) that a query finds; retired flies are left out.

    Parameters: limit, the most rungs, the slowest ones; 0 for all; temperature of the water that speeds are for [K],
    None for the catalog's, and its salinity [kg/kg]. Raises BadValueError for a bad query.
    """
    noun = NOUNS["variant" if variants else "fly"]
    kept = "" if variants else "retired:none"
    with catalog.reading() as session:
        wanted = narrowed(query, f"sink:any {kept}")
        first = limit if temperature is None else 0
        rows = select_rows(session, noun, wanted, "sink", first, ("code", "name", "sink", "sink-u"))
        total, measured = count(session, noun, narrowed(query, kept), "sink")
        runs, water = runs_in_one_water(session, counting_runs(session), temperature, salinity)
        shop = shop_runs(runs)
        rungs = rungs_of(session, rows, variants, shop)[: limit or None]
    return Ladder(rungs, ties_of(rungs), total - measured, measured, water, _assumed(rungs, shop))


def _assumed(rungs: Sequence[LadderRung], shop: ShopRuns) -> float:
    """Return the spread between runs that was assumed, as a share of the speed; 0 where the shop's runs show it, or where
    no speed of these holds it."""
    used = any(part.source == "runs" for rung in rungs for part in rung.side.parts)
    return shop.spreads.runs.size if used and not shop.spreads.run_groups else 0.0


def rungs_of(session: Session, rows: Sequence[Row], variants: bool, shop: ShopRuns) -> list[LadderRung]:
    """Return a rung for each row, its doubt in parts, so that what two flies share is no doubt of which is faster."""
    flies = _flies(session, [row["code"] for row in rows], variants)
    rungs = [
        LadderRung(
            row["code"],
            row["name"],
            _side(row, flies, shop, variants),
            any(run.brought_to for fly in flies[row["code"]] for run in shop.of(fly)),
        )
        for row in rows
    ]
    return sorted(rungs, key=lambda rung: rung.speed)


def _side(row: Row, flies: dict[str, list[Fly]], shop: ShopRuns, variants: bool) -> Side:
    of = tuple(flies[row["code"]])
    parts = {fly.id: shop.of(fly) for fly in of}
    if any(run.pooled for found in parts.values() for run in found) or not any(parts.values()):
        whole = DoubtPart("clip", Repeat.NOTHING, row["sink-u"])
        return Side(row["code"], row["sink"], (whole,), {}, {})
    return side_of(FlyOrVariant(row["code"], of, variants), parts, shop.spreads)


def _flies(session: Session, codes: Sequence[str], variants: bool) -> dict[str, list[Fly]]:
    column = Variant.code if variants else Fly.code
    found: dict[str, list[Fly]] = {code: [] for code in codes}
    query = select(Fly).join(Variant, Variant.id == Fly.variant_id).order_by(Fly.code)
    for fly in loaded(session, query, column, list(codes)):
        found[fly.variant.code if variants else fly.code].append(fly)
    return found
