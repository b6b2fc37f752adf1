"""What a saved run contradicts: other runs of its fly, and what the catalog knows of the fly's weight."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from flybench.catalog.search.select import loaded
from flybench.catalog.shelf.counting import BY_HAND
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.quantity import COVERAGE_FACTOR, parse_with_uncertainty

LEAST = 0.05
"""Relative difference below which nothing is said (judgement)."""


def contradictions(catalog: Catalog, number: int) -> list[str]:
    """Return sentences for each contradiction of run ``number``, with what to do about it, and why it does not count."""
    with catalog.reading() as session:
        run = session.get_one(BenchRun, number)
        return [*_not_counting(session, run), *_other_runs(session, run), *_weights(run)]


def filmed_instead(catalog: Catalog, numbers: Sequence[int]) -> list[int]:
    """Return which of these runs were timed by hand and do not count, as a filmed one of their fly does."""
    counting = select(BenchRun).where(BenchRun.accepted, BenchRun.free_speed_m_s.is_not(None))
    with catalog.reading() as session:
        by_hand = [run for run in loaded(session, counting, BenchRun.id, numbers) if BY_HAND in run.flags]
        others = loaded(session, counting, BenchRun.fly_id, sorted({run.fly_id for run in by_hand}))
        filmed = {run.fly_id for run in others if BY_HAND not in run.flags}
        instead = {run.id for run in by_hand if run.fly_id in filmed}
    return [number for number in numbers if number in instead]


def _not_counting(session: Session, run: BenchRun) -> Iterator[str]:
    """Say that a run timed by hand does not count where one of its fly was filmed."""
    if BY_HAND not in run.flags:
        return
    others = [other.id for other in session.scalars(_others(run)) if BY_HAND not in other.flags]
    if others:
        shown = f"run {others[-1]}" if len(others) == 1 else f"run {others[-1]} and {len(others) - 1} more"
        yield f"this run was timed by hand, and does not count while a filmed one of the fly does ({shown})."


def _others(run: BenchRun) -> Select[BenchRun]:
    """Return the other runs of a fly that were accepted and have a free-water speed."""
    others = select(BenchRun).where(
        BenchRun.fly_id == run.fly_id,
        BenchRun.id != run.id,
        BenchRun.accepted,
        BenchRun.free_speed_m_s.is_not(None),
    )
    return others.order_by(BenchRun.id)


def _other_runs(session: Session, run: BenchRun) -> Iterator[str]:
    """Name accepted runs whose free-water speed differs by more than both uncertainties allow (k = 2)."""
    if run.free_speed_m_s is None:
        return
    for other in session.scalars(_others(run)):
        assert other.free_speed_m_s is not None
        difference = run.free_speed_m_s - other.free_speed_m_s
        doubt = math.hypot(run.free_uncertainty_m_s or 0.0, other.free_uncertainty_m_s or 0.0)
        if abs(difference) > max(COVERAGE_FACTOR * doubt, LEAST * other.free_speed_m_s):
            yield (
                f"this run differs from run {other.id} of the same fly by {difference * 100:+.1f} cm/s, more than the "
                f"uncertainties of the two explain. If it was another fly: flybench run set-aside {run.id} --why TEXT"
            )


def _weights(run: BenchRun) -> Iterator[str]:
    """Compare the weights in the sheet with those in the catalog; the sheet's were used."""
    for key, known in (("mass", run.fly.mass_kg), ("mass_in_water", run.fly.mass_in_water_kg)):
        text = run.sheet.get("fly", {}).get(key)
        if text is None or known is None:
            continue
        typed, _ = parse_with_uncertainty(text, "kg", f"fly.{key}")
        if abs(typed - known) > LEAST * known:
            yield (
                f"the sheet's {key} ({text}) was used, but the catalog has {known * 1e6:.4g} mg for fly {run.fly.code}. "
                "Check that it is the same fly, and correct the one that is wrong."
            )
