"""The measured flies of the catalog, found and read as records for the drag model."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.store.batches import loaded
from flybench.catalog.tables.flies import Fly
from flybench.shop.measured_flies import Remarks, records_of
from flybench.sinking.drag.tied_fly import Sunk


def sunk_flies(session: Session, query: Sequence[str] = (), remarks: Remarks | None = None) -> list[Sunk]:
    """Return the measured, not retired flies that a query of flies finds, by fly and by water.

    Runs within 1 K and 1 g/kg of salt pool together, as ``jobs.pooled`` has it. A fly whose weight cannot be told
    has None, with a remark why; so has one that would float or weighs less than its bead. Raises BadValueError for a
    bad query.
    """
    told = Remarks() if remarks is None else remarks
    flies = loaded(session, select(Fly).order_by(Fly.code), Fly.code, measured_codes(session, query))
    return records_of(flies, told)


def measured_codes(session: Session, query: Sequence[str] = ()) -> list[str]:
    """Return the codes of the measured, not retired flies that a query finds; raises BadValueError for a bad one."""
    rows = select_rows(session, NOUNS["fly"], narrowed(query, "sink:any retired:none"), "code", 0, ("code",))
    return [row["code"] for row in rows]
