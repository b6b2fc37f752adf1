"""The pocket sheet: what stands on it, as PDF and as text, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from console import Said, flybench
from shop import measured, shop

Run = Callable[..., Said]
SHEET = ("print", "pocket", "--depths", "0.8 m, 2.5 m", "--surface-speeds", "0.5 m/s", "--bed", "gravel")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to call flybench on an invented catalog of three measured flies, in an empty folder."""
    path = tmp_path / "catalog.sqlite"
    catalog = shop(path)
    for code, speed in (("M1", 0.45), ("M2", 0.30), ("A1", 0.20)):
        measured(catalog, code, speed, 0.01 * speed)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))

    def call(*arguments: str) -> Said:
        return flybench(capsys, *arguments)

    return call


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_one_page_holds_the_table_the_ladder_and_the_cautions(
    run: Run, tmp_path: Path, paper: str, size: tuple[int, int]
) -> None:
    said = run(*SHEET, "--paper", paper)
    assert said.code == 0, said.err
    page = pypdfium2.PdfDocument(tmp_path / "pocket.pdf")
    assert len(page) == 1
    assert tuple(round(side) for side in page[0].get_size()) == size
    text = page[0].get_textpage().get_text_range()
    for wanted in (
        "0.8 m",
        "2.5 m",
        "0.5 m/s",
        "none reaches",
        "Ladder",
        "A1",
        "M1",
        "M2",
        "cold and fast water kills",
    ):
        assert wanted in text
    assert "check your local rules" in " ".join(text.split())


def test_the_text_form_says_the_same(run: Run, tmp_path: Path) -> None:
    said = run(*SHEET, "--text")
    assert said.code == 0
    lines = said.out.splitlines()
    assert lines[0] == "POINT FLY AND WAY UPSTREAM"
    assert lines[lines.index("2.5 m deep") + 1] == "  0.5 m/s: none reaches"
    shallow = lines[lines.index("0.8 m deep") + 1]
    assert ", land " in shallow
    assert shallow.endswith("m above")
    assert any(line.startswith("  M1: 4") for line in lines)
    assert not (tmp_path / "pocket.pdf").exists()


def test_deeper_water_asks_for_no_slower_a_fly(run: Run) -> None:
    """Common practice, no source."""
    said = run(
        "print",
        "pocket",
        "--depths",
        "0.4 m, 1.2 m",
        "--surface-speeds",
        "0.5 m/s",
        "--bed",
        "gravel",
        "--text",
    )
    speeds = {"A1": 0.20, "M2": 0.30, "M1": 0.45}
    lines = said.out.splitlines()
    flies = [
        lines[lines.index(f"{depth} m deep") + 1].split(": ")[1].split(",")[0].split(" or ")[0]
        for depth in ("0.4", "1.2")
    ]
    assert speeds[flies[0]] <= speeds[flies[1]]


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (("-o", "sheet.txt"), 2, "give a name that ends in .pdf"),
        (("--depths", "0 m"), 1, "depth: 0 is outside 0.1 to 6 m"),
        (("--depths", ""), 2, "0 are given; give 1 to 5"),
        (("--surface-speeds", "9 m/s"), 1, "surface speed: 9 is outside 0.02 to 3 m/s"),
        (("--box", "code:M3"), 1, "No measured fly with a known weight in the box."),
        (("-o", "nowhere/pocket.pdf"), 1, "nowhere"),
    ],
)
def test_refusals_leave_nothing_behind(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], code: int, message: str
) -> None:
    before = sorted(tmp_path.iterdir())
    said = run("print", "pocket", "--bed", "gravel", *arguments)
    assert said.code == code
    assert message in said.err
    assert sorted(one for one in tmp_path.iterdir() if one.suffix == ".pdf") == [
        one for one in before if one.suffix == ".pdf"
    ]
