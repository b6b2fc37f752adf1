"""What a shop still offers: nothing that is retired, and nothing of a pattern or a variant that is."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.language import Query
from flybench.catalog.search.select import Row
from flybench.catalog.tables.patterns import Pattern, Variant

NEEDED = ("code", "pattern", "retired")
"""Fields of the rows that are asked about; of flies their variant too."""


def offered(session: Session, rows: Sequence[Row]) -> list[Row]:
    """Return the rows of variants, or of flies, that are still offered; see ``NEEDED`` for their fields."""
    patterns = set(session.scalars(select(Pattern.code).where(Pattern.retired_on.is_not(None))))
    variants = set(session.scalars(select(Variant.code).where(Variant.retired_on.is_not(None))))
    return [
        row
        for row in rows
        if row["retired"] is None and row["pattern"] not in patterns and row.get("variant") not in variants
    ]


def asks_for_retired(query: Query) -> bool:
    """Tell whether a query says itself which retired things it wants."""
    return any(term.key == "retired" for terms in query.alternatives for term in terms)
