"""Labels for what a query finds: rows of the catalog to what stands on each label."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from sqlalchemy.orm import Session

from flybench.catalog.search.cells import NOTHING, cell, needed_for, template
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row, find
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.vocabulary import Metal
from flybench.errors import BadValueError, FlybenchError
from flybench.files import check_writable, whole_file
from flybench.jobs.sink.ladder import band_of
from flybench.paper.label.pages import Label, Speed, label_notes, save_labels
from flybench.paper.label.sheet import LabelSheet
from flybench.quantity import COVERAGE_FACTOR

MOST_LABELS = 5000
_VAGUE = 0.25
LEAD = "Holds lead: see local rules"
_FIELDS = ("code", "name", "hook", "bead", "metal", "bore", "price", "stock", "sink", "sink-u")


def labels_for(
    catalog: Catalog,
    query: Sequence[str],
    *,
    flies: bool = False,
    copies: int | None = 1,
    qr: str = "{code}",
    currency: str = "",
    note: str = "",
    predict: bool = False,
) -> list[Label]:
    """Return labels of the variants (or flies) that a query finds; ``copies`` None means one a fly in stock.

    ``qr`` is a template of fields, "" for none; ``predict`` gives variants that were never measured a predicted
    speed, marked as such. Raises FlybenchError where nothing is found or too much.
    """
    noun = NOUNS["fly" if flies else "variant"]
    names, fill = template(noun, qr) if qr else ([], None)
    with catalog.reading() as session:
        rows = find(session, noun, query, "sink", fields=needed_for(noun, (*_FIELDS, *names))).rows
        predicted = _predicted(session, rows) if predict and not flies else {}
    labels = []
    for row in rows:
        label = _label(row, flies, fill(row) if fill else None, currency, note, predicted.get(row["code"]))
        labels += [label] * (int(row["stock"]) if copies is None else copies)
    if not labels:
        raise FlybenchError("No labels to print: the query finds nothing (or nothing in stock). Widen it.")
    if len(labels) > MOST_LABELS:
        raise BadValueError("labels", f"{len(labels)} are too many", f"Print at most {MOST_LABELS} at a time")
    return labels


def _predicted(session: Session, rows: Sequence[Row]) -> dict[str, Speed]:
    """Return predicted speeds of the variants without a measured one; those that cannot be told are left out."""
    from flybench.jobs.sink.predict import predict_known  # loads scipy

    codes = [row["code"] for row in rows if row["sink"] is None]
    return {
        one.build.code: Speed(one.forecast.speed, COVERAGE_FACTOR * one.forecast.uncertainty, predicted=True)
        for one in predict_known(session, codes)
    }


def _vague(speed: Speed) -> bool:
    """Tell whether a predicted speed is too uncertain for a band."""
    return speed.predicted and speed.expanded > _VAGUE * speed.value


def _label(
    row: Row, flies: bool, qr: str | None, currency: str, note: str, predicted: Speed | None = None
) -> Label:
    noun = NOUNS["fly" if flies else "variant"]
    speed = predicted
    if row["sink"] is not None:
        speed = Speed(row["sink"], COVERAGE_FACTOR * row["sink-u"])
    bead = cell(noun, noun.fields["bead"], row, with_unit=True)
    parts = [bead] + [row[name].value for name in ("metal", "bore") if row[name] is not None]
    return Label(
        code=row["code"],
        name=row["name"],
        hook=f"hook {row['hook']}",
        bead="no bead" if bead == NOTHING else " ".join(parts),
        price=None if row["price"] is None else f"{currency} {row['price']}".strip(),
        note=f"{LEAD}. {note}".strip() if row["metal"] is Metal.LEAD else note,
        qr=qr,
        speed=speed,
        band=None if speed is None or _vague(speed) else band_of(speed.value),
    )


def print_labels(
    labels: Sequence[Label], sheet: LabelSheet, path: Path, skip: int, proof: bool, font: Path | None
) -> tuple[int, tuple[str, ...]]:
    """Write the labels as PDF; returns the number of pages and what had to be shortened or left out."""
    check_writable(path)
    with whole_file(path) as part:
        pages = save_labels(labels, sheet, part, skip=skip, outlines=proof, font=font)
    return pages, label_notes(labels, sheet, font)
