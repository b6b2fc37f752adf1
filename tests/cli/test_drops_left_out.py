"""``bench measure --without``: the drop stands in the list with its reason, and does not count."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from console import flybench
from refusals import refused

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.saved.refitting import refit, saved_bytes
from flybench.bench.sheet.read import read_sheet
from flybench.jobs.bench.measure import tables_for

pytestmark = pytest.mark.slow


def test_left_out_with_its_reason(clip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--without", "1", "hit the wall")
    assert said.code == 1
    told = " ".join(said.out.split())
    assert told.startswith(
        "REFUSED: no sink speed. 1 drop was seen, and none can be used. You left this drop out, for the reason beside it. "
    )
    assert "left-out (hit the wall)" in told
    said = flybench(
        capsys, "bench", "measure", clip, "--json", "--no-report", "--without", "1", "hit the wall"
    )
    (drop,) = json.loads(said.out)["drops"]
    assert (drop["used"], drop["flags"]) == (False, ["left-out"])


def test_left_out_that_was_not_seen(clip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--without", "2", "hit the wall")
    refused(
        said,
        "--without: leaves out drop 2, and 1 drop was seen. Measure without it first, and take the number from the list of "
        "drops.",
    )


def test_left_out_when_fitted_again(clip: Path) -> None:
    """The sheet is kept with the run, and the drop stays out when the run is fitted again from what was kept."""
    tables = tables_for(clip, None, {"drops": {"without": [[1, "hit the wall"]]}})
    run = measure(open_clip(clip), read_sheet(tables))
    again = refit(saved_bytes(run), tables)
    assert [drop.flags_told for drop in again.drops] == [["left-out (hit the wall)"]]
    assert again.sink_speed is None
    counted = refit(saved_bytes(run), {**tables, "drops": {}})
    assert counted.sink_speed is not None
