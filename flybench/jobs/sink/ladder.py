"""The ladder of a catalog: its measured flies from slowest to fastest."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row, count, loaded, select_rows
from flybench.catalog.shelf.counted_runs import is_counted
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.patterns import Variant
from flybench.jobs.pooled.rules import RULES
from flybench.jobs.pooled.shop_wide import runs_were_compared
from flybench.jobs.shelf.one_water import in_shown_water, kept_water
from flybench.shop.speeds.compared_flies import FlyOrVariant, side_of
from flybench.shop.speeds.kept_sides import all_unpacked, packed
from flybench.shop.speeds.ladder import Ladder, LadderRung, Rung, Ties, ties_of
from flybench.shop.speeds.one_water import OneWater
from flybench.shop.speeds.shop_runs import ShopRuns
from flybench.shop.speeds.shop_spreads import USUAL_RUNS
from flybench.statistics.comparing import DoubtPart, Repeat, Side
from flybench.statistics.many_pairs import groups_of


def ladder(
    catalog: Catalog,
    query: Sequence[str] = (),
    variants: bool = False,
    limit: int = 0,
    temperature: float | None = None,
    salinity: float = 0.0,
) -> Ladder:
    """Return the ladder of the flies (or variants) that a query finds; retired ones are left out.

    Parameters: limit, the most rungs, the slowest ones; 0 for all; temperature of the water that speeds are for [K],
    None for the catalog's, and its salinity [kg/kg]. Raises BadValueError for a bad query.
    """
    noun = NOUNS["variant" if variants else "fly"]
    kept = "retired:none"
    table = VariantSpeed if variants else FlySpeed
    with catalog.reading() as session:
        wanted = narrowed(query, f"sink:any {kept}")
        first = limit if temperature is None else 0
        names, more = ("code", "name", "sink", "sink-u"), (table.side, table.brought)
        rows = select_rows(session, noun, wanted, "sink", first, names, more)
        total, measured = count(session, noun, narrowed(query, kept), "sink")
        if temperature is None and is_counted(session, RULES):
            rungs, ties, by_runs = _kept(rows)
            water, compared = kept_water(session), runs_were_compared(session)
        else:
            found, water, compared = _in_water(session, rows, variants, (temperature, salinity))
            rungs, ties, by_runs = _worked_out(found[: limit or None])
        retired = 0 if measured else count(session, noun, narrowed(query, "sink:any retired:any"))[0]
    assumed = USUAL_RUNS.size if by_runs and not compared else 0.0
    return Ladder(rungs, ties, total - measured, measured, water, assumed, retired)


def _kept(rows: Sequence[Row]) -> tuple[Sequence[Rung], Ties, bool]:
    """Return rungs as they are kept, which of them cannot be told apart, and whether a spread between runs is in any; of a
    speed that stands without runs nobody can say what of its doubt is shared."""
    kept = [row["side"] or packed(_whole(row)) for row in rows]
    sides = all_unpacked([row["sink"] for row in rows], kept)
    by_water = sides.parts["water"].tolist()
    rungs = [
        Rung(row["code"], row["name"], row["sink"], row["sink-u"], step, bool(row["brought"]))
        for row, step in zip(rows, by_water, strict=True)
    ]
    ties = Ties([row["code"] for row in rows], groups_of(sides.columns))
    return rungs, ties, bool(sides.parts["runs"].any())


def _in_water(
    session: Session, rows: Sequence[Row], variants: bool, water: tuple[float | None, float]
) -> tuple[list[LadderRung], OneWater, bool]:
    """Return rungs for a water that is asked for: temperature [K], None for the catalog's, and salinity [kg/kg];
    and whether runs of any fly show how much runs differ."""
    shop, found = in_shown_water(session, *water, flies_of(session, [row["code"] for row in rows], variants))
    return rungs_of(session, rows, variants, shop), found, bool(shop.spreads.run_groups)


def _worked_out(rungs: list[LadderRung]) -> tuple[Sequence[Rung], Ties, bool]:
    """Return rungs, which of them cannot be told apart, and whether a spread between runs is in the doubt of any."""
    by_runs = any(part.source == "runs" for rung in rungs for part in rung.side.parts)
    return rungs, ties_of(rungs), by_runs


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
        return _whole(row)
    return side_of(FlyOrVariant(row["code"], of, variants), parts, shop.spreads)


def _whole(row: Row) -> Side:
    whole = DoubtPart("clip", Repeat.NOTHING, row["sink-u"])
    return Side(row["code"], row["sink"], (whole,), {}, {})


def flies_of(session: Session, codes: Sequence[str], variants: bool) -> list[str]:
    """Return the codes of flies, or of those of variants."""
    if not variants:
        return list(codes)
    flies = select(Fly.code).join(Variant, Variant.id == Fly.variant_id).order_by(Fly.code)
    return list(loaded(session, flies, Variant.code, list(codes)))


def _flies(session: Session, codes: Sequence[str], variants: bool) -> dict[str, list[Fly]]:
    column = Variant.code if variants else Fly.code
    found: dict[str, list[Fly]] = {code: [] for code in codes}
    query = select(Fly).join(Variant, Variant.id == Fly.variant_id).order_by(Fly.code)
    for fly in loaded(session, query, column, list(codes)):
        found[fly.variant.code if variants else fly.code].append(fly)
    return found
