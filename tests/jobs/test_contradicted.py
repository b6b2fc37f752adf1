"""Runs and weights that contradict each other are told; contradicting runs are not pooled to a small doubt."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from console import flybench
from shop import shop

from flybench.catalog.shelf.run_records import RunSpeed
from flybench.jobs.demo import shipped_clips
from flybench.shop.pooling import pool_runs


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    shop(tmp_path / "shop.sqlite")
    for clip in shipped_clips().glob("*.*"):
        shutil.copy(clip, tmp_path)
    return tmp_path


def test_another_fly_under_the_same_code_is_told(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    flybench(capsys, "bench", "measure", bench / "moss-hackle.mp4", "--no-report", "--fly", "M2")
    said = flybench(capsys, "bench", "measure", bench / "reed-slip.mp4", "--no-report", "--fly", "M2")
    assert said.code == 0
    assert "CHECK: it differs from run 1 of this fly by +13." in said.out + said.err
    assert "run set-aside 2 --why TEXT" in said.out + said.err
    assert (
        "CHECK: the sheet's mass (0.30 g) was used, the catalog has 220 mg for fly M2." in said.out + said.err
    )


def test_contradicting_runs_keep_a_wide_doubt() -> None:
    """Two values 14 apart: the standard error of their mean is half their difference (any textbook)."""
    runs = [RunSpeed(0.28, 0.001, 0.0, 291.0, 4), RunSpeed(0.42, 0.001, 0.0, 291.0, 4)]
    assert pool_runs(runs).uncertainty >= 0.99 * 0.07


@pytest.mark.parametrize(
    "arguments", [("fly", "list", "--csv"), ("bench", "plan", "--speed", "30 cm/s", "--json")]
)
def test_no_output_is_written_over_a_catalog(
    bench: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    victim = bench / "shop.sqlite"
    before = victim.read_bytes()
    said = flybench(capsys, *arguments, victim)
    assert said.code == 1
    assert "is a catalog or another database, and is not written over" in said.err
    assert victim.read_bytes() == before


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("fly", "list", "--csv", ""), 'Error: ".": names no file. Name one to write.\n'),
        (
            ("variant", "change", "MILL-28-14", "--based-on", "MILL-28-14"),
            "Error: based-on: MILL-28-14 leads back to itself. Base it on a variant that stands alone.\n",
        ),
        (
            ("fly", "change", "M1", "--mass-in-water", "0.3 g"),
            "Error: mass-in-water: is not below the dry mass. A fly weighs less under water; were the two swapped?\n",
        ),
        (
            ("fly", "change", "M1", "--retired", "1999-01-01"),
            "Error: retired: 1999-01-01 lies before 2026-03-01, when it was tied. Check both days.\n",
        ),
    ],
)
def test_whole_messages(
    bench: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    said = flybench(capsys, *arguments)
    assert (said.code, said.err) == (1, message)
