"""Labels for what a query finds: rows of the catalog to what stands on each label, and the page they are printed on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypedDict, Unpack

from sqlalchemy.orm import Session

from flybench.catalog.search.cells import NOTHING, cell, needed_for
from flybench.catalog.search.fields import Noun
from flybench.catalog.search.language import parse_query
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.offered import NEEDED, asks_for_retired, offered
from flybench.catalog.search.select import Row, field_of, find
from flybench.catalog.shelf.pictures import picture_for
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.vocabulary import Metal
from flybench.errors import BadValueError, FlybenchError
from flybench.files import check_new, whole_file
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.one_water import in_shown_water
from flybench.jobs.sink.ladder import flies_of, rungs_of
from flybench.jobs.trade.money import Money, money_of
from flybench.paper.label.content import Label, LabelSpeed
from flybench.paper.label.label_paper import LabelPaper
from flybench.paper.label.pages import PrintedLabels, save_labels
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.speeds.ladder import shown_band

MOST_LABELS = 5000
"""Labels printed at a time; judgement: more than a shop sticks on in a day."""
_VAGUE = 0.25
"""A predicted speed whose expanded uncertainty is more than this share of it gets no band; judgement: the bands of the R10
series are a quarter apart (ISO 3)."""
WIDEST = 2.0
"""Most by which either end of a predicted speed may be off it, as a factor [-]; of a wider one the label says that the fly
was not measured; judgement: it would be of no use at the river."""
LEAD = "Holds lead: see local rules"
_FIELDS = ("code", "name", "hook", "bead", "metal", "bore", "price", "stock", "sink", "sink-u")


class OnLabels(TypedDict, total=False):
    """What stands on labels, and how many there are of each; every key may be left out."""

    flies: bool
    """A label for each tied specimen instead of each variant."""
    copies: int | None
    """Labels of each; None for as many as flies are in stock."""
    qr: Sequence[str]
    """Names of fields that the QR code holds, with a blank between them; none for no code."""
    qr_before: str
    """Text before them in the QR code, such as the beginning of an address."""
    currency: str
    """What stands before the price; without it, that of the catalog."""
    note: str
    photo: bool
    """A small photo of the fly, else of its variant, else of its pattern, where a label has a place free."""
    predict: bool
    """Predicted speeds, marked as such, for variants that were never measured."""
    temperature: float | None
    """Temperature of the water that speeds are for [K]; None for the catalog's."""
    salinity: float
    """Its salinity [kg/kg], where a temperature is given."""


def print_labels(
    catalog: Catalog,
    query: Sequence[str],
    paper: LabelPaper,
    path: Path,
    *,
    overwrite: bool = False,
    skip: int = 0,
    proof: bool = False,
    font: Path | None = None,
    cut_marks: bool = False,
    **what: Unpack[OnLabels],
) -> PrintedLabels:
    """Write labels of what a query finds as PDF, whole or not at all; returns what was written.

    For ``skip``, ``proof``, ``font`` and ``cut_marks`` see ``save_labels``. Raises FlybenchError where nothing is found or
    too much, where the file exists and ``overwrite`` is not given, and as ``save_labels`` does.
    """
    check_new(path, overwrite)
    labels, contradicted, retired = _labels(catalog, query, what)
    with whole_file(path) as part:
        printed = save_labels(labels, paper, part, skip=skip, proof=proof, font=font, cut_marks=cut_marks)
    return replace(printed, contradicted=contradicted, retired=retired)


def labels_for(catalog: Catalog, query: Sequence[str], **what: Unpack[OnLabels]) -> list[Label]:
    """Return labels of the variants, or flies, that a query finds, the slowest first; of retired ones only where it asks
    for them.

    Raises FlybenchError where nothing is found or too much, BadValueError for a field of the QR code that is not known.
    """
    return _labels(catalog, query, what)[0]


def _labels(
    catalog: Catalog, query: Sequence[str], what: OnLabels
) -> tuple[list[Label], tuple[str, ...], tuple[str, ...]]:
    """Return labels, the codes of flies whose weighing contradicts their parts where speeds were predicted, and the codes of
    what is retired and has no label."""
    flies, copies = what.get("flies", False), what.get("copies", 1)
    noun = NOUNS["fly" if flies else "variant"]
    photo = what.get("photo", False)
    fields = (*_FIELDS, *NEEDED, *(["variant"] if flies else []), *(["pattern"] if photo else []))
    in_code = [_field_of(noun, name) for name in what.get("qr", ("code",))]
    with catalog.reading() as session:
        wanted = parse_query(query)
        found = find(session, noun, wanted, "sink", fields=needed_for(noun, (*fields, *in_code))).rows
        rows = found if asks_for_retired(wanted) else offered(session, found)
        speeds, contradicted = _speeds(session, rows, flies, what)
        pictures = {row["code"]: _picture(session, row, flies) for row in rows} if photo else {}
        money = Money(what["currency"]) if what.get("currency") else money_of(session)
    labels = []
    for row in rows:
        label = _label(row, noun, in_code, what, speeds.get(row["code"]), money)
        label = replace(label, photo=pictures.get(row["code"]))
        labels += [label] * (int(row["stock"]) if copies is None else copies)
    if not labels:
        raise FlybenchError(
            "There are no labels to print: all that the query finds is retired. Ask for it with retired:any, or widen "
            "the query."
            if found and not rows
            else "There are no labels to print: the query finds nothing, or nothing in stock. Widen the query, or leave "
            "--stock out."
        )
    if len(labels) > MOST_LABELS:
        raise BadValueError("labels", f"{len(labels)} are too many", f"Print at most {MOST_LABELS} at a time")
    kept = {row["code"] for row in rows}
    return labels, contradicted, tuple(row["code"] for row in found if row["code"] not in kept)


def _picture(session: Session, row: Row, flies: bool) -> bytes | None:
    """Return the photo of a row's fly, where it is one, else of its variant, else of its pattern."""
    own = {"fly": row["code"], "variant": row["variant"]} if flies else {"variant": row["code"]}
    found = picture_for(session, own | {"pattern": row["pattern"]})
    return None if found is None else found.content


def _field_of(noun: Noun, name: str) -> str:
    """Return the name of a field as the catalog writes it; the error names the option."""
    try:
        return field_of(noun, name).name
    except BadValueError as error:
        problem = str(error).removeprefix(f"{error.key}: ")
        raise FlybenchError(f"--qr: {problem}") from error


def _speeds(
    session: Session, rows: Sequence[Row], flies: bool, what: OnLabels
) -> tuple[dict[str, LabelSpeed], tuple[str, ...]]:
    """Return the speeds of labels by code, all in one water; it is named where it is not simply that of the shop. With them
    the codes of flies whose weighing contradicts their parts, where speeds were predicted."""
    asked = flies_of(session, [row["code"] for row in rows], not flies)
    shop, found = in_shown_water(session, what.get("temperature"), what.get("salinity", 0.0), asked)
    runs = [run for of in shop.by_fly.values() for run in of]
    moved = {run.fly if flies else run.variant for run in runs if run.brought_to is not None}
    own = {run.fly if flies else run.variant: run.water for run in runs if run.fly in found.floating}

    def named(code: str) -> tuple[float | None, float]:
        if code in own:
            return _named(own[code])
        return _named(found.water if found.why != "usual" or code in moved else None)

    measured = [row for row in rows if row["sink"] is not None]
    told = {row["code"]: (row["sink"], COVERAGE_FACTOR * row["sink-u"]) for row in measured}
    if found.why == "given":
        rungs = rungs_of(session, measured, not flies, shop)
        told = {rung.code: (rung.speed, rung.expanded) for rung in rungs}
    speeds = {
        code: LabelSpeed(speed, expanded, None, *named(code)) for code, (speed, expanded) in told.items()
    }
    if not what.get("predict") or flies:
        return speeds, ()
    predicted, contradicted = _predicted(
        session, rows, found.water, None if found.why == "usual" else found.water
    )
    return speeds | predicted, contradicted


def _named(water: Water | None) -> tuple[float | None, float]:
    """Return temperature [K] and salinity [kg/kg] of the water that a label names."""
    return (None, 0.0) if water is None else (water.temperature, water.salinity)


def _predicted(
    session: Session, rows: Sequence[Row], water: Water | None, named: Water | None
) -> tuple[dict[str, LabelSpeed], tuple[str, ...]]:
    """Return predicted speeds in this water of the variants without a measured one; those that cannot be predicted,
    or too vaguely to be of use, are left out. ``named``, the water where the label names it."""
    from flybench.jobs.sink.predict import prediction_of_known  # loads scipy

    found = prediction_of_known(session, [row["code"] for row in rows if row["sink"] is None], water)
    if found is None:
        return {}, ()
    speeds = {
        one.build.code: LabelSpeed(
            one.forecast.speed,
            COVERAGE_FACTOR * one.forecast.uncertainty,
            one.forecast.interval,
            *_named(named),
        )
        for one in found.flies
        if _tells_something(one.forecast.speed, *one.forecast.interval)
    }
    return speeds, tuple(one.fly for one in found.learned.contradicted)


def _tells_something(speed: float, low: float, high: float) -> bool:
    """Tell whether both ends of a predicted speed are within a factor of 2 of it."""
    return speed <= WIDEST * low and high <= WIDEST * speed


def _vague(speed: LabelSpeed) -> bool:
    """Tell whether a predicted speed is too uncertain for a band."""
    return speed.predicted and speed.expanded > _VAGUE * speed.value


def _label(
    row: Row, noun: Noun, in_code: Sequence[str], what: OnLabels, speed: LabelSpeed | None, money: Money
) -> Label:
    bead = cell(noun, noun.fields["bead"], row, with_unit=True)
    parts = [bead] + [row[name].value for name in ("metal", "bore") if row[name] is not None]
    words = [cell(noun, noun.fields[name], row, with_unit=True) for name in in_code]
    return Label(
        code=row["code"],
        name=row["name"],
        hook=f"hook {row['hook']}",
        bead="no bead" if bead == NOTHING else " ".join(parts),
        price=None if row["price"] is None else money.written(row["price"]),
        note=what.get("note", ""),
        warning=LEAD if row["metal"] is Metal.LEAD else "",
        qr=what.get("qr_before", "") + " ".join(words) if words else None,
        speed=speed,
        band=None if speed is None or _vague(speed) else f"{shown_band(speed.value, speed.expanded)} cm/s",
    )
