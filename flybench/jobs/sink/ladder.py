"""The ladder of a catalog: its measured flies from slowest to fastest."""

from __future__ import annotations

from collections.abc import Sequence

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import count, select_rows
from flybench.catalog.store.open import Catalog
from flybench.shop.speeds.ladder import Ladder, LadderRung, ties_of


def ladder(catalog: Catalog, query: Sequence[str] = (), variants: bool = False, limit: int = 0) -> Ladder:
    """Return the ladder of the flies (or variants) that a query finds; retired flies are left out.

    Parameters: limit, the most rungs, the slowest ones; 0 for all. Raises BadValueError for a bad query.
    """
    noun = NOUNS["variant" if variants else "fly"]
    kept = "" if variants else "retired:none"
    with catalog.reading() as session:
        wanted = narrowed(query, f"sink:any {kept}")
        rows = select_rows(session, noun, wanted, "sink", limit, ("code", "name", "sink", "sink-u"))
        total, measured = count(session, noun, narrowed(query, kept), "sink")
    rungs = [LadderRung(row["code"], row["name"], row["sink"], row["sink-u"]) for row in rows]
    return Ladder(rungs, ties_of(rungs), total - measured, measured)
