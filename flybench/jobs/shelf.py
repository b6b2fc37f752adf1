"""Adding, changing, removing, finding and showing the things of the catalog, from what a user wrote."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog import shelf
from flybench.catalog.fields import Noun
from flybench.catalog.flies import Fly
from flybench.catalog.materials import Bead, Material
from flybench.catalog.run_shelf import pool_again, run_of
from flybench.catalog.search import Page, Row, find, one_row
from flybench.catalog.store import Catalog
from flybench.catalog.values import read_values
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.pooled import pool_variant
from flybench.quantity import Measured
from flybench.sinking.bead import Bore
from flybench.sinking.metals import Metal
from flybench.sinking.parts import Part, metal_part
from flybench.sinking.usual import default_bores, trade_diameter, volume_of

Given = Mapping[str, str]
_TYPED = 0.05e-3
"""Standard uncertainty of a size of a bead that was typed [m]: callipers on a small hole (judgement)."""


def add_row(catalog: Catalog, noun: Noun, given: Given) -> Row:
    """Add a thing from texts by field name; returns its row. Raises BadValueError for what cannot be used."""
    values = read_values(noun, given)
    with catalog.writing() as session:
        row = shelf.add(session, noun, values)
        work_out(session, row)
        return row_of(session, noun, row.code)


def change_row(catalog: Catalog, noun: Noun, code: str, given: Given) -> Row:
    """Change the fields given; an empty text empties a field. Raises BadValueError as ``add_row`` does."""
    if not given:
        raise FlybenchError(
            f"{noun.name} {code}: nothing to change was given. Name a field, as in --name TEXT."
        )
    values = read_values(noun, given)
    with catalog.writing() as session:
        before = shelf.get(session, noun, code)
        old = before.variant_id if isinstance(before, Fly) else None
        row = shelf.change(session, noun, code, values)
        work_out(session, row)
        if isinstance(row, Fly) and old is not None and old != row.variant_id:
            for variant in (old, row.variant_id):  # its runs now speak for another variant
                pool_again(session, variant, pool_variant)
        return row_of(session, noun, row.code)


def remove_row(catalog: Catalog, noun: Noun, code: str) -> None:
    """Remove a thing; refused, with what refers to it, while anything does."""
    with catalog.writing() as session:
        shelf.remove(session, noun, code)


def show_row(catalog: Catalog, noun: Noun, code: str) -> Row:
    """Return one row by its code."""
    with catalog.reading() as session:
        return row_of(session, noun, code)


def list_rows(
    catalog: Catalog,
    noun: Noun,
    query: Sequence[str],
    sort: str = "",
    limit: int = 0,
    fields: Sequence[str] = (),
) -> Page:
    """Return the rows that a query finds."""
    with catalog.reading() as session:
        return find(session, noun, query, sort, limit, fields)


def row_of(session: Session, noun: Noun, code: str) -> Row:
    """Return all fields of one row; raises BadValueError with near codes where there is none."""
    if noun.name == "run":
        return one_row(session, noun, run_of(session, _number(noun, code)).id)
    return one_row(session, noun, shelf.get(session, noun, code).code)


def _number(noun: Noun, code: str) -> int:
    if not code.isascii() or not code.isdigit():
        raise BadValueError(
            noun.name, f'"{code}" is not a number', f"See the numbers: flybench {noun.name} list"
        )
    return int(code)


def work_out(session: Session, row: Any) -> None:
    """Work out what follows from what was given: the mass of a bead from its size and metal."""
    if isinstance(row, Material) and row.bead is not None:
        row.bead.mass_kg, row.bead.mass_u_kg = bead_mass_of(row.bead)
        session.flush()


def bead_mass_of(bead: Bead) -> tuple[float, float]:
    """Return the mass of a bead with its standard uncertainty [kg], from its sizes, metal and bore."""
    mass = bead_part(bead).mass
    return mass.value, mass.standard_uncertainty


def bead_part(bead: Bead) -> Part:
    """Return a bead as a part of a fly, from its sizes, metal and bore.

    Sizes of the bore that were not given are the usual ones of the trade, with their spread. Raises
    BadValueError for sizes that no bead can have.
    """
    usual = default_bores(trade_diameter(bead.diameter_m), Bore(bead.bore.value))
    sizes = replace(
        usual,
        bore_diameter=_typed(bead.bore_diameter_m) or usual.bore_diameter,
        mouth_diameter=_typed(bead.mouth_diameter_m) or usual.mouth_diameter,
        mouth_depth=_typed(bead.mouth_depth_m) or usual.mouth_depth,
        slot_width=_typed(bead.slot_width_m) or usual.slot_width,
    )
    return metal_part("bead", volume_of(sizes), Metal(bead.metal.value))


def _typed(size: float | None) -> Measured | None:
    return None if size is None else Measured(size, min(_TYPED, size / 4))
