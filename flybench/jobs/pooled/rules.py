"""By which rules kept speeds were pooled: those of an earlier version are worked out again when the catalog is opened."""

from __future__ import annotations

from sqlalchemy import select

from flybench.catalog.shelf.counted_runs import is_counted
from flybench.catalog.store.open import Catalog, Tell
from flybench.catalog.tables.flies import BenchRun
from flybench.errors import FlybenchError

RULES = "4"
"""Number of the rules by which runs are taken apart and pooled. Raise it whenever the same runs would give other numbers: all
kept ones are then worked out again when a catalog is next opened."""


def by_these_rules(catalog: Catalog, tell: Tell) -> Catalog:
    """Return a catalog of which kept speeds follow the rules of this version, so that lists, ladder and labels agree.

    Speeds of an earlier version are worked out again, once; ``tell`` hears of it, or why that was not possible.
    """
    with catalog.reading() as session:
        if is_counted(session, RULES) or session.scalar(select(BenchRun.id).limit(1)) is None:
            return catalog
    from flybench.jobs.pooled.kept_speeds import keep_in_step  # loads scipy

    try:
        with catalog.writing() as session:
            keep_in_step(session)
    except FlybenchError as error:
        tell(
            "Lists show sink speeds as an earlier version of flybench worked them out, for they could not be worked out "
            f"anew: {error}"
        )
    else:
        tell("Sink speeds were worked out anew by the rules of this version; most ± moved.")
    return catalog
