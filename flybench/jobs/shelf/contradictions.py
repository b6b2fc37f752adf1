"""What a saved run contradicts: other runs of its fly, and what the catalog knows of the fly's weight."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.quantity import COVERAGE_FACTOR, parse_with_uncertainty

LEAST = 0.05
"""Relative difference below which nothing is said (judgement)."""


def contradictions(catalog: Catalog, number: int) -> list[str]:
    """Return sentences for each contradiction of run ``number``, with what to do about it."""
    with catalog.reading() as session:
        run = session.get_one(BenchRun, number)
        return [*_other_runs(session, run), *_weights(run)]


def _other_runs(session: Session, run: BenchRun) -> Iterator[str]:
    """Name accepted runs whose free-water speed differs by more than both uncertainties allow (k = 2)."""
    if run.free_speed_m_s is None:
        return
    others = select(BenchRun).where(
        BenchRun.fly_id == run.fly_id,
        BenchRun.id != run.id,
        BenchRun.accepted,
        BenchRun.free_speed_m_s.is_not(None),
    )
    for other in session.scalars(others.order_by(BenchRun.id)):
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
