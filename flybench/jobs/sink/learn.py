"""The measured flies of a catalog, found and read as records, and the drag model learned from them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.shelf.counted_runs import counted_of, is_counted
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.shelf.needed import flies_with_recipes
from flybench.jobs.pooled.rules import RULES
from flybench.jobs.pooled.shop_wide import as_made, kept_law, newest_runs
from flybench.shop.speeds.learning import Learned, learned_from
from flybench.shop.speeds.measured_flies import Remarks, records_of
from flybench.shop.speeds.run_parts import counted_parts, parts_of_run
from flybench.shop.speeds.shop_runs import ShopRuns, runs_by_fly, shop_runs
from flybench.shop.speeds.shop_spreads import spreads_of
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.viscosity import ViscosityLaw


def learn(session: Session, query: Sequence[str] = (), more: Sequence[Build] = ()) -> Learned:
    """Learn from the measured flies that a query finds, retired ones too: how a fly sank stays true.

    Parameters: more, builds that will be asked about.
    """
    remarks = Remarks()
    flies = records(session, measured_codes(session, query, retired=True), remarks)
    return learned_from(flies, more, remarks.doubts)


def measured_flies(
    session: Session, query: Sequence[str] = (), remarks: Remarks | None = None
) -> list[MeasuredFly]:
    """Return the measured, not retired flies that a query of flies finds, by fly and by water.

    Runs within 1 K and 1 g/kg of salt pool together, as ``shop.speeds.sides`` has it. A fly whose weight cannot be told
    has None, with a remark why; so has one that would float or weighs less than its bead. Raises BadValueError for a
    bad query.
    """
    return records(session, measured_codes(session, query), remarks)


def records(session: Session, codes: Sequence[str], remarks: Remarks | None = None) -> list[MeasuredFly]:
    """Return flies, by code, as records of how they were measured; adds to ``remarks`` what should be known of them."""
    found = Remarks() if remarks is None else remarks
    return records_of(flies_with_recipes(session, codes), found, shop_of(session, codes))


def law_of_water(session: Session) -> ViscosityLaw:
    """Return how drag goes with viscosity, as the ladder has it: learned from all flies dropped in two waters."""
    if not is_counted(session, RULES):
        return learn(session).viscosity
    law, _ = kept_law(session, spreads_of([as_made(run) for run in newest_runs(session)]))
    return law


def shop_of(session: Session, flies: Sequence[str] | None = None) -> ShopRuns:
    """Return the runs of the catalog that count, of all its flies or of some, and what all its runs show of spreads."""
    if not is_counted(session, RULES):
        return shop_runs([parts_of_run(run) for run in counting_runs(session)])
    newest = spreads_of([as_made(run) for run in newest_runs(session)])
    return ShopRuns(
        runs_by_fly([as_made(counted_parts(one)) for one in counted_of(session, flies=flies)]), newest
    )


def measured_codes(session: Session, query: Sequence[str] = (), retired: bool = False) -> list[str]:
    """Return the codes of the measured flies that a query finds, with the retired ones or without them.

    Raises BadValueError for a bad query.
    """
    wanted = narrowed(query, "sink:any" if retired else "sink:any retired:none")
    rows = select_rows(session, NOUNS["fly"], wanted, "code", 0, ("code",))
    return [row["code"] for row in rows]
