"""Speeds that an earlier version pooled are worked out anew when a catalog is opened, so that lists and ladder agree."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from console import flybench
from demo_catalog import first_revision

pytestmark = pytest.mark.slow

ANEW = "Sink speeds were worked out anew by the rules of this version; most ± moved.\n"


def test_a_list_of_an_older_catalog_shows_the_speeds_of_the_ladder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "old.sqlite"
    first_revision(path)
    listed = flybench(capsys, "fly", "list", "--columns", "code,sink,sink-u", "--json", "--catalog", path)
    ladder = flybench(capsys, "ladder", "--json", "--catalog", path)
    assert listed.err.endswith(ANEW) and ANEW not in ladder.err
    rungs = {one["code"]: one["sink_speed_m_s"] for one in json.loads(ladder.out)["rungs"]}
    assert {one["code"]: one["sink_m_s"] for one in json.loads(listed.out)} == pytest.approx(rungs)
    doubts = {one["code"]: one["standard_uncertainty_m_s"] for one in json.loads(ladder.out)["rungs"]}
    assert {one["code"]: one["sink_u_m_s"] for one in json.loads(listed.out)} == pytest.approx(doubts)
