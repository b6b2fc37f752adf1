"""Clips like real films of falling balls: few, small and slow pictures, no card. Truth: what the renderer was given."""

from __future__ import annotations

from pathlib import Path

import pytest
from kitchen.case import Case, tried
from kitchen.films import CASES

from flybench.bench.verdict.flags import doubts

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_measured_right_or_told(case: Case, folder: Path, tmp_path: Path) -> None:
    """A drop's own fit is far better than its interval, most of which is how drops may differ: hence the 1 % besides."""
    got = tried(case, 1, folder, tmp_path)
    assert got.result is not None, got.message
    raised = set(got.result.all_flags)
    if case.outcome == "refused":
        assert got.result.sink_speed is None and doubts(raised)
        return
    if case.outcome == "flagged":
        assert doubts(raised) and (not case.flags or case.flags & raised)
        assert got.score is None or abs(got.score) < 2.0
        return
    assert got.score is not None and abs(got.score) < 2.0
    assert len(got.pairs) == len(got.truth.drops)
    assert max(abs(pair.error) for pair in got.pairs) < 0.01
    assert max(map(abs, got.scores)) < 2.0
