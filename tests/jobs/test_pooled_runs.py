"""Bench runs as the catalog keeps them: which part of their doubt other runs share."""

from __future__ import annotations

import pytest
from measured_clips import CLIPS, measured

from flybench.bench.saved.refitting import saved_bytes
from flybench.jobs.shelf.record_of_result import record_of
from flybench.shop.speeds.shared_errors import OWN_OF_CLIP


@pytest.mark.parametrize("name", CLIPS)
def test_the_shared_part_is_all_but_reading_and_repeating(name: str) -> None:
    run, tables = measured(name)
    told = record_of(run.result, tables, saved_bytes(run))
    assert set(OWN_OF_CLIP) <= {line.source for line in run.result.budget}
    assert told.shared_uncertainty_m_s is not None and told.free_uncertainty_m_s is not None
    assert 0 < told.shared_uncertainty_m_s < told.free_uncertainty_m_s
