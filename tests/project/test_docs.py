"""Every command that README and docs show runs, in order, and prints what the page says; links lead somewhere."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from console import flybench
from pages import says, steps_of

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")), ROOT / "bench_videos" / "README.md"]
NOT_RUN = {"commands.md", "flags.md", "sheet.in.md", "recipes.in.md"}
"""Made from the program, or the raw form of a page that is."""


@pytest.fixture
def evening(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder as after filming: the recipes, and the demo clips under the names that the pages use."""
    shutil.copytree(ROOT / "catalog", tmp_path / "catalog")
    for clip in (ROOT / "bench_videos" / "clips").iterdir():
        shutil.copy(clip, tmp_path / clip.name)
    shutil.copy(tmp_path / "moss-hackle.mp4", tmp_path / "drop.mp4")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "flies.sqlite"))
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.mark.slow
@pytest.mark.usefixtures("clips_read_once", "pages_drawn_once")
@pytest.mark.parametrize("page", [one for one in PAGES if one.name not in NOT_RUN], ids=lambda one: one.stem)
def test_commands_of_a_page_run_in_order(
    page: Path, evening: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    block = ""
    for step in steps_of(page):
        done = flybench(capsys, *step.words)
        assert done.code == 0, f"{step.text}\n{done.out}{done.err}"
        block = done.out if step.begins else block + done.out
        if step.printed is not None:
            assert says(block, step.printed) or says(done.out, step.printed), (
                f"{step.text}\n{block}\n--- the page says\n{step.printed}"
            )


@pytest.mark.parametrize("page", PAGES, ids=lambda one: one.stem)
def test_links_lead_to_files(page: Path) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#\s]+)", page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


@pytest.mark.parametrize(
    ("printed", "said", "same"),
    [
        ("a 1.23\nb", "a 1.21\nb", True),
        ("a 1.23\nb", "a 1.20\nb", False),
        ("a\nb\nc", "a\n...\nc", True),
        ("a\nb", "a\n...\nc", False),
        ("a 10.1  b", "a 9.9 b", True),
        ("a  b", "a  c", False),
        ("a\nmore", "a", False),
    ],
)
def test_a_page_is_compared_as_it_should_be(printed: str, said: str, same: bool) -> None:
    assert says(printed, said) is same
