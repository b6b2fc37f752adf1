"""The page and the notebook about the library run from top to bottom, as they stand."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("clips_read_once")]

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def evening(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for clip in (ROOT / "bench_videos" / "clips").iterdir():
        shutil.copy(clip, tmp_path / clip.name)
    shutil.copy(tmp_path / "moss-hackle.mp4", tmp_path / "drop.mp4")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "flies.sqlite"))
    return tmp_path


def test_the_page_runs(evening: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
    names: dict[str, object] = {}
    for block in re.findall(r"^```python\n(.*?)^```$", page, re.M | re.S):
        exec(compile(block, "library.md", "exec"), names)  # the page's own code
    message = 'temperature: "18" has no unit. Write it with its unit, for example "18 degC".'
    assert message in capsys.readouterr().out.splitlines()
    run = names["run"]
    assert getattr(run, "verdict", None) == "good"


def test_the_notebook_runs(evening: Path) -> None:
    book = json.loads((ROOT / "docs" / "walk.ipynb").read_text(encoding="utf-8"))
    names: dict[str, object] = {}
    cells = ["".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code"]
    assert len(cells) >= 6
    for cell in cells:
        exec(compile(cell, "walk.ipynb", "exec"), names)  # the notebook's own code
