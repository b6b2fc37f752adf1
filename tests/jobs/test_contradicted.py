"""Runs and weights that contradict each other are told; contradicting runs are not pooled to a small doubt."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from console import flybench
from measured_clips import add, measured, record
from shop import shop

from flybench.catalog.store.open import open_catalog
from flybench.jobs.demo import shipped_clips
from flybench.jobs.shelf.contradictions import contradictions
from flybench.jobs.shelf.runs import save_run
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.sides import FlyRuns, fly_side


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    shop(tmp_path / "shop.sqlite")
    return tmp_path


def free_speed(name: str) -> float:
    free = measured(name)[0].result.free_water
    assert free is not None
    return free.speed


@pytest.mark.slow
def test_another_fly_under_the_same_code_is_told(bench: Path) -> None:
    catalog = open_catalog(str(bench / "shop.sqlite"))
    add(catalog, "M2", record(1, 0.284))
    second = save_run(catalog, "M2", *measured("reed-slip"))
    difference = (free_speed("reed-slip") - 0.284) * 100
    assert contradictions(catalog, second) == [
        f"this run differs from run 1 of the same fly by {difference:+.1f} cm/s, more than the uncertainties of the "
        "two explain. If it was another fly: flybench run set-aside 2 --why TEXT",
        "the sheet's mass (0.30 g) was used, but the catalog has 220 mg for fly M2. "
        "Check that it is the same fly, and correct the one that is wrong.",
    ]


@pytest.mark.slow
def test_measuring_says_what_it_contradicts(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(shipped_clips() / "reed-slip.mp4", bench)
    shutil.copy(shipped_clips() / "reed-slip.toml", bench)
    said = flybench(capsys, "bench", "measure", bench / "reed-slip.mp4", "--no-report", "--fly", "M2")
    assert said.code == 0
    assert " ".join(said.out.split()).endswith(
        f"Saved as run 1 of fly M2 in {bench / 'shop.sqlite'} "
        "CHECK: the sheet's mass (0.30 g) was used, but the catalog has 220 mg for fly M2. "
        "Check that it is the same fly, and correct the one that is wrong."
    )


def test_contradicting_runs_keep_a_wide_doubt() -> None:
    """Two values 14 apart: the standard error of their mean is half their difference (any textbook).

    The least that is asked for leaves room for what is expected of runs before these two are seen.
    """
    runs = [RunParts("f", speed, 0.003, {}, 291.0, 4) for speed in (0.28, 0.42)]
    assert fly_side(FlyRuns("f", tuple(runs))).uncertainty >= 0.95 * 0.07


@pytest.mark.parametrize("more", [(), ("--overwrite",)])
def test_no_list_is_written_over_a_catalog(
    bench: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...]
) -> None:
    victim = bench / "shop.sqlite"
    before = victim.read_bytes()
    said = flybench(capsys, "fly", "list", "--csv", victim, *more)
    assert (said.code, said.out) == (1, "")
    assert said.err == (
        f"Error: {victim}: is a catalog or another database, and is not written over. Name another file.\n"
    )
    assert victim.read_bytes() == before


def test_no_file_is_replaced_by_a_list_without_overwrite(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = bench / "flies.csv"
    file.write_text("precious", encoding="utf-8")
    said = flybench(capsys, "fly", "list", "--csv", file)
    assert (said.code, said.out) == (1, "")
    assert said.err == (
        f"Error: {file}: exists already. Name another file, or add --overwrite to replace it.\n"
    )
    assert file.read_text(encoding="utf-8") == "precious"
    said = flybench(capsys, "fly", "list", "--csv", file, "--overwrite")
    assert (said.code, said.out, said.err) == (0, "", f"Wrote {file} with 4 flies\n")
    assert file.read_text(encoding="utf-8").startswith("code,variant,")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("fly", "list", "--csv", ""), 'Error: ".": names no file. Name one to write.\n'),
        (
            ("variant", "change", "MILL-28-14", "--based-on", "MILL-28-14"),
            "Error: --based-on: MILL-28-14 would be based on itself. Base it on another variant.\n",
        ),
        (
            ("fly", "change", "M1", "--mass-in-water", "0.3 g"),
            "Error: --mass-in-water: is not less than the dry mass. A fly shows less on the scale in water than dry; "
            "were the two swapped?\n",
        ),
        (
            ("fly", "change", "M1", "--retired", "1999-01-01"),
            "Error: --retired: 1999-01-01 is before 2026-03-01, the day it was tied. Check both days.\n",
        ),
    ],
)
def test_whole_messages(
    bench: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    said = flybench(capsys, *arguments)
    assert (said.code, said.err) == (1, message)
