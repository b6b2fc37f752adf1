"""Adding, changing, removing, finding and showing the things of the catalog, from what a user wrote."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.search.fields import Noun
from flybench.catalog.search.select import Page, Row, find, one_row
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.shelf.counting import pool_again
from flybench.catalog.shelf.fly_numbers import next_number
from flybench.catalog.shelf.runs import run_of
from flybench.catalog.shelf.values import read_values
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Material
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.jobs.shelf.one_water import bring_again
from flybench.shop.fly.bead_sizes import bead_mass_of

Given = Mapping[str, str]
NUMBERED = ("fly",)
"""Things that get the next number where no code is given."""
_WITH_WEIGHT = ("fly", "variant", "pattern", "material")
"""Things on which the weight and the shape of a fly depend, and with them the step of its speed to other water."""
NO_WEIGHT = frozenset({"name", "notes", "price", "pack", "supplier", "bin", "reorder", "retired"})
"""Their fields that say nothing of it."""


def add_row(catalog: Catalog, noun: Noun, given: Given) -> Row:
    """Add a thing from texts by field name; returns its row. A fly without a code gets the next number.

    Raises BadValueError for what cannot be used.
    """
    values = read_values(noun, given)
    with catalog.writing() as session:
        if noun.name in NUMBERED and "code" not in values:
            values["code"] = next_number(session)
        row = shelf.add(session, noun, values)
        work_out(session, row)
        return row_of(session, noun, row.code)


def change_row(catalog: Catalog, noun: Noun, code: str, given: Given) -> Row:
    """Change the fields given; an empty text empties a field. Raises BadValueError as ``add_row`` does."""
    if not given:
        raise FlybenchError(
            f"{noun.name} {code}: no field to change was given. Give one, for example --notes TEXT."
        )
    values = read_values(noun, given)
    with catalog.writing() as session:
        before = shelf.get(session, noun, code)
        old = before.variant_id if isinstance(before, Fly) else None
        row = shelf.change(session, noun, code, values)
        work_out(session, row)
        if isinstance(row, Fly) and old is not None and old != row.variant_id:
            pool_again(session, keeping(session), (old, row.variant_id))  # its runs speak for another variant
        elif noun.name in _WITH_WEIGHT and set(given) - NO_WEIGHT:
            bring_again(session)
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
            noun.name, f'"{code}" is not a number', f"See the numbers with: flybench {noun.name} list"
        )
    return int(code)


def work_out(session: Session, row: Any) -> None:
    """Work out what follows from what was given: the mass of a bead from its size and metal."""
    if isinstance(row, Material) and row.bead is not None:
        row.bead.mass_kg, row.bead.mass_u_kg = bead_mass_of(row.bead)
        session.flush()
