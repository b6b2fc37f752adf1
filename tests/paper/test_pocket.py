"""The pocket page: what stands on it, as PDF and as text, and what is refused."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from clips import once
from rig_shop import Run, in_a_shop

from flybench.catalog.store.open import open_catalog
from flybench.errors import BadValueError
from flybench.jobs.river.box import box_from_catalog
from flybench.paper.pocket import save_pocket
from flybench.paper.pocket_words import CAUTIONS, PocketCell, PocketPage, PocketRow
from flybench.quantity import Measured
from flybench.rig.advice.choosing import Candidate, Choice, choose
from flybench.rig.odds.draws import best_estimate
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.shop.river import pocket as pocket_tables

PAGE = (
    "print",
    "pocket",
    "--depth",
    "0.8 m",
    "--depth",
    "2.5 m",
    "--surface-speed",
    "0.5 m/s",
    "--bed",
    "gravel",
)


@pytest.fixture
def run(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Run:
    """Return a way to call flybench on an invented shop, in an empty folder; each water is worked out once a session."""
    monkeypatch.setattr(pocket_tables, "choose", kept(pocket_tables.choose, folder))
    return in_a_shop(tmp_path, monkeypatch, capsys)


def kept(work: Callable[..., object], folder: Path) -> Callable[..., object]:
    """Return the work as done once a session for the same arguments."""

    def done(*given: object, **named: object) -> object:
        return once(folder, f"{work.__qualname__} {given!r} {named!r}", lambda: work(*given, **named))

    return done


@pytest.mark.slow
@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_one_page_holds_the_table_the_ladder_and_the_cautions(
    run: Run, tmp_path: Path, paper: str, size: tuple[int, int]
) -> None:
    said = run(*PAGE, "--paper", paper)
    assert said.code == 0, said.err
    page = pypdfium2.PdfDocument(tmp_path / "pocket.pdf")
    assert len(page) == 1
    assert tuple(round(side) for side in page[0].get_size()) == size
    text = " ".join(page[0].get_textpage().get_text_range().split())
    for wanted in (
        "0.8 m",
        "2.5 m",
        "0.5 m/s",
        "none reaches",
        "Flies of the box",
        "A1",
        "M1",
        "M2",
        "cold and fast water kills",
    ):
        assert wanted in text
    assert "check your local rules" in " ".join(text.split())


@pytest.mark.slow
def test_the_text_form_says_the_same(run: Run, tmp_path: Path) -> None:
    said = run(*PAGE, "--text")
    assert said.code == 0
    lines = said.out.splitlines()
    assert lines[0] == "POINT FLY, AND HOW FAR UPSTREAM TO LAND IT"
    assert max(map(len, lines)) <= 44
    assert lines[lines.index("2.5 m deep") + 1] == "  0.5 m/s: none reaches #"  # 5 m of leader reach down
    shallow = lines[lines.index("0.8 m deep") + 1]
    assert re.fullmatch(r"  0\.5 m/s: (M1|M2|A1) \d(\.5)? m.*", shallow)
    # 0.45 m/s at 18 degC is 45 cm/s; colder water changes it by a few per cent, known to several.
    assert any(re.fullmatch(r"  M1: 4\d(\.\d)? ± \d(\.\d)?, \d\.\d+", line) for line in lines)
    assert not (tmp_path / "pocket.pdf").exists()


@pytest.mark.slow
def test_deeper_water_asks_for_no_slower_a_fly(run: Run) -> None:
    """Common practice, no source."""
    depths = ("--depth", "0.4 m", "--depth", "1.2 m")
    said = run("print", "pocket", *depths, "--surface-speed", "0.5 m/s", "--bed", "gravel", "--text")
    speeds = {"A1": 0.20, "M2": 0.30, "M1": 0.45}
    lines = said.out.splitlines()
    flies = [
        lines[lines.index(f"{depth} m deep") + 1].split(": ")[1].split(" ")[0] for depth in ("0.4", "1.2")
    ]
    assert speeds[flies[0]] <= speeds[flies[1]]


@pytest.mark.slow
def test_the_fly_and_its_way_are_those_of_choosing(run: Run, tmp_path: Path) -> None:
    said = run(
        "print", "pocket", "--depth", "0.8 m", "--surface-speed", "0.5 m/s", "--bed", "gravel", "--text"
    )
    current = Current(Measured(0.8, 0.08), Measured(0.5, 0.05), 283.15, bed_named("gravel"))
    box = box_from_catalog(lambda: open_catalog(str(tmp_path / "catalog.sqlite")), [], current.water)
    ranked = choose(box.flies, current, Tackle(0.15e-3, 2.5), Goal(), draws=100).ranked
    best = next(one for one in ranked if one.in_time >= 0.5)
    [line] = [line for line in said.out.splitlines() if line.startswith("  0.5 m/s: ")]
    assert line.removeprefix("  0.5 m/s: ").startswith(
        f"{best.names[0]} {math.ceil(2 * min(best.landing, 5.0)) / 2:g} m"
    )


@pytest.mark.slow
def test_a_fly_that_reaches_is_named_though_one_that_does_not_ranks_first(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ranked(*_: object, **__: object) -> Choice:
        tackle = Tackle(0.15e-3, 2.5)
        first = Candidate(
            (0,), ("A1",), tackle, 9.0, 2.0, 0.3, 0.01, 0.4, 0.02, 0.3, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0, False
        )
        other = replace(first, flies=(2,), names=("M1",), landing=1.2, worth=0.1, in_time=0.8, behind=0.2)
        return Choice((first, other), 2, best_estimate(3), ())

    monkeypatch.setattr(pocket_tables, "choose", ranked)
    said = run(
        "print", "pocket", "--depth", "0.8 m", "--surface-speed", "0.5 m/s", "--bed", "gravel", "--text"
    )
    assert "  0.5 m/s: M1 1.5 m" in said.out
    assert "A1 " not in said.out.split("FLIES OF THE BOX")[0]


@pytest.mark.slow
def test_a_dropper_goes_with_every_point_and_is_told(run: Run) -> None:
    water = ("--depth", "0.8 m", "--surface-speed", "0.5 m/s", "--bed", "gravel", "--text")
    said = run("print", "pocket", "--dropper", "A1", "--dropper-gap", "0.4 m", *water)
    assert said.code == 0, said.err
    assert "dropper A1 0.4 m above the point" in " ".join(said.out.split())
    assert re.search(r"  0\.5 m/s: (M1|M2|A1) \d", said.out)


def test_ties_keep_their_own_ways_and_none_is_dropped_unsaid() -> None:
    cell = PocketCell((("N-1", 1.0), ("N-2", 2.5)), 4, "?")
    assert cell.words() == ["N-1 1 m", "or N-2 2.5 m", "or 4 more ?"]
    assert cell.words(apart=True) == ["N-1", "1 m", "or N-2", "2.5 m", "or 4 more ?"]
    assert PocketCell(()).words() == ["none reaches"]
    assert PocketCell((), marks="#").words() == ["none reaches #"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_full_sheet_keeps_off_folds_and_edges_and_counts_what_it_leaves_out(
    tmp_path: Path, paper: str
) -> None:
    path = tmp_path / "pocket.pdf"
    rungs = [
        PocketRow(f"LONG-CODE-{n:03d}", Measured(0.2 + n / 500, 0.001), Measured(2e-3, 2e-5))
        for n in range(90)
    ]
    cell = PocketCell((("LONG-CODE-088", 2.5), ("LONG-CODE-089", 3.0)), 12, "*?")
    speeds = ["0.3 m/s", "0.6 m/s", "0.9 m/s", "1.2 m/s"]
    page = PocketPage(rungs, ["0.5 m", "0.8 m", "1 m"], speeds, [cell] * 12, ["w " * 60] * 4, ["n"], CAUTIONS)
    left = save_pocket(page, path, paper)
    sheet = pypdfium2.PdfDocument(path)[0]
    words = sheet.get_textpage()
    text = words.get_text_range()
    assert f"{left} more flies are left out" in text
    assert len(set(re.findall(r"LONG-CODE-\d{3}", text))) == 90 - left
    width, height = sheet.get_size()
    for number in range(words.count_chars()):
        x0, y0, x1, y1 = words.get_charbox(number)
        if words.get_text_range(number, 1).strip():
            assert 20 < x0 < x1 < width - 20
            assert 15 < y0 < y1 < height - 15
            assert not x0 - 10 < width / 2 < x1 + 10
            assert not y0 - 5 < height / 2 < y1 + 5
    image = np.asarray(sheet.render(scale=1).to_pil().convert("RGB"))
    assert (np.ptp(image, axis=-1) == 0).all()


@pytest.mark.parametrize(
    ("code", "titles"),
    [("F42", ["How to use it", "Marks"]), ("LONG-CODE-088", ["The same, in faster water"])],
)
def test_the_table_stands_in_one_panel_unless_its_codes_are_too_long_for_that(
    tmp_path: Path, code: str, titles: list[str]
) -> None:
    cells = [PocketCell(((code, 2.5), (code, 3.0)), 2, "~#")] * 6
    rows = [PocketRow(code, Measured(0.42, 0.01), Measured(4.6e-3, 5e-5))]
    page = PocketPage(
        rows, ["0.8 m", "1.2 m"], ["0.4 m/s", "0.8 m/s", "1.2 m/s"], cells, ["h"], ["n"], CAUTIONS, ["r"]
    )
    assert save_pocket(page, tmp_path / "pocket.pdf", "a4") == 0
    sheet = pypdfium2.PdfDocument(tmp_path / "pocket.pdf")[0]
    width, height = sheet.get_size()
    lower_right = sheet.get_textpage().get_text_bounded(width / 2, 0, width, height / 2).split("\r\n")
    assert [line for line in lower_right if line in (*titles, "How to use it", "Marks")] == titles
    assert "Point fly, and where to land it" not in lower_right


def test_room_below_the_flies_takes_what_the_drifts_did(tmp_path: Path) -> None:
    rows = [PocketRow("F42", Measured(0.42, 0.01), Measured(4.6e-3, 5e-5))]
    page = PocketPage(rows, ["1 m"], ["1 m/s"], [PocketCell(())], [], [], CAUTIONS, ["r"])
    save_pocket(page, tmp_path / "pocket.pdf", "a4")
    sheet = pypdfium2.PdfDocument(tmp_path / "pocket.pdf")[0]
    width, height = sheet.get_size()
    upper_left = sheet.get_textpage().get_text_bounded(0, height / 2, width / 2, height)
    assert upper_left.split("\r\n")[-2:] == ["What the drifts did", "water point drifts touched seconds"]
    lines = np.asarray(sheet.render(scale=2).to_pil().convert("L"))[: int(height), 60]
    assert np.count_nonzero(np.diff((lines < 128).astype(int)) == 1) >= 4


def test_a_code_too_long_to_read_is_refused(tmp_path: Path) -> None:
    rung = PocketRow("W" * 60, Measured(0.3, 0.01), Measured(2e-3, 2e-5))
    page = PocketPage([rung], ["1 m"], ["1 m/s"], [PocketCell(())], [], [], CAUTIONS)
    with pytest.raises(BadValueError) as refused:
        save_pocket(page, tmp_path / "pocket.pdf", "a4")
    cure = "Use --text, or give the fly a shorter code."
    assert str(refused.value) == f'pocket page: "{"W" * 60}" is too long to be readable. {cure}'
    assert not (tmp_path / "pocket.pdf").exists()


def test_a_catalog_is_not_written_over(run: Run, tmp_path: Path) -> None:
    before = (tmp_path / "catalog.sqlite").read_bytes()
    (tmp_path / "shop.pdf").write_bytes(before)
    said = run("print", "pocket", "--output", "shop.pdf", "--overwrite")
    assert said.code == 1
    message = "shop.pdf: is a catalog or another database, and is not written over. Name another file."
    assert said.err == f"Error: {message}\n"
    assert (tmp_path / "shop.pdf").read_bytes() == before


def test_a_page_is_replaced_only_when_asked(run: Run, tmp_path: Path) -> None:
    (tmp_path / "pocket.pdf").write_bytes(b"mine")
    said = run(*PAGE)
    message = "pocket.pdf: exists already. Name another file, or add --overwrite to replace it."
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")
    assert (tmp_path / "pocket.pdf").read_bytes() == b"mine"


@pytest.mark.slow
def test_the_machine_form_holds_the_table(run: Run, tmp_path: Path) -> None:
    said = run(
        "print", "pocket", "--depth", "0.8 m", "--surface-speed", "0.5 m/s", "--bed", "gravel", "--json"
    )
    table = json.loads(said.out)
    [water] = table["waters"]
    assert (water["depth"], water["surface_speed"]) == ("0.8 m", "0.5 m/s")
    assert water["flies"][0]["point"] in {"A1", "M1", "M2"}
    assert water["flies"][0]["land_upstream_m"] % 0.5 == 0
    assert [fly["name"] for fly in table["flies"]] == ["A1", "M2", "M1"]
    assert not (tmp_path / "pocket.pdf").exists()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--output", "sheet.txt"),
            '--output: "sheet.txt" does not end in .pdf. Name a file such as pocket.pdf.',
        ),
        (
            ("--depth", "0 m"),
            "--depth: 0 m is outside 0.1 to 6 m. Measure the depth with the wading staff.",
        ),
        (("--depth", "1"), '--depth: "1" has no unit. Write it with its unit, for example "1.2 m".'),
        (
            ("--depth", "1 m") * 6,
            "--depth: is given 6 times. Give it 5 times at most: more is not readable.",
        ),
        (
            ("--surface-speed", "1 m/s") * 5,
            "--surface-speed: is given 5 times. Give it 4 times at most: more is not readable.",
        ),
        (
            ("--surface-speed", "9 m/s"),
            "--surface-speed: 9 m/s is outside 0.02 to 3 m/s. Time a float over a known distance; the surface of water "
            "that is fished runs 0.1 to 1.5 m/s.",
        ),
        (
            ("--box", "code:M3"),
            "No fly in the box is measured and has a known weight. Measure some with flybench bench measure CLIP --fly "
            "CODE, and weigh them with flybench fly weigh CODE.",
        ),
        *(
            ((option, text), f"{option}: is given without a dropper. Name its fly with --dropper CODE.")
            for option, text in (("--dropper-tag", "20 cm"), ("--dropper-level", "mid"))
        ),
        (
            ("--dropper-gap", "0.4 m"),
            "--dropper-gap: is given without a dropper. Name its fly with --dropper CODE.",
        ),
        (
            ("--output", "no/pocket.pdf"),
            "no/pocket.pdf: there is no folder no. Make it first or name another.",
        ),
    ],
)
def test_refusals_leave_nothing_behind(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], message: str
) -> None:
    said = run("print", "pocket", "--bed", "gravel", *arguments)
    assert said.code == 1
    assert said.err == f"Error: {message}\n"
    assert list(tmp_path.glob("*.pdf")) == []
