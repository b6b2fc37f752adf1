"""Runs timed by hand in the catalog: they count only where no run was filmed, and are never fitted again."""

from __future__ import annotations

from pathlib import Path

import pytest
from console import flybench
from invented_runs import add_run
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.jobs.bench.timed_runs import save_timed
from flybench.jobs.bench.timing import time_run
from flybench.jobs.shelf.refit import refit_runs
from flybench.jobs.sink.compare import compare_measured
from flybench.telling.bench.timing import timed_record
from flybench.telling.sink.comparison import lines

TABLES = {"water": {"temperature": "18 degC"}, "tank": {"width": "200 mm", "depth": "200 mm"}}


def _timed(catalog: Catalog, code: str) -> int:
    run = time_run("60 cm +- 1 cm", ["2.1", "2.2", "2.0"], None, TABLES)
    return save_timed(catalog, code, run, dict(TABLES), timed_record(run))


def _speed(catalog: Catalog, code: str) -> tuple[float, int]:
    with catalog.reading() as session:
        speed = get(session, NOUNS["fly"], code).speed
        assert speed is not None
        return speed.free_speed_m_s, speed.runs


def test_a_timed_run_counts_until_the_fly_is_filmed(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "shop.db")
    code = "A1"
    number = _timed(catalog, code)
    by_hand, runs = _speed(catalog, code)
    assert (by_hand, runs) == (pytest.approx(0.293, abs=0.002), 1)
    assert refit_runs(catalog) == []
    add_run(catalog, code, 0.31, 7)
    assert _speed(catalog, code) == (pytest.approx(0.31), 1)

    with pytest.raises(FlybenchError) as refused:
        refit_runs(catalog, [number])
    assert str(refused.value) == (
        f"run {number} of fly {code}: was timed by hand, so that there is nothing to fit again. Leave it out."
    )


def test_the_same_times_on_one_day_count_once(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "shop.db")
    number = _timed(catalog, "A1")
    with pytest.raises(FlybenchError) as refused:
        _timed(catalog, "A1")
    assert str(refused.value) == (
        f"fly A1: these very times over this distance were kept today already, as run {number}; counted twice, its speed "
        "would look more certain than it is. If they are of other drops, remove that run and give the times of all drops "
        f"at once: flybench run remove {number}"
    )


def _over(catalog: Catalog, code: str, distance: str, *times: str) -> None:
    run = time_run(distance, times, None, TABLES)
    save_timed(catalog, code, run, dict(TABLES), timed_record(run))


def test_a_distance_cancels_only_for_flies_timed_over_it(tmp_path: Path) -> None:
    """The two distances are stated to 10 and 15 %, measured apart, so that 20 % between the speeds tells nothing; over one
    distance as much does. All times are invented."""
    catalog = shop(tmp_path / "shop.db")
    _over(catalog, "M1", "60 cm +- 6 cm", "2.15", "2.2", "2.17", "2.18", "2.16")
    _over(catalog, "M2", "40 cm +- 6 cm", "1.23", "1.24", "1.25", "1.22", "1.24")
    _over(catalog, "A1", "60 cm +- 6 cm", "2.60", "2.65", "2.62", "2.63", "2.61")
    unlike, alike = (compare_measured(catalog, ["M1", code]).pairs[0] for code in ("M2", "A1"))
    assert (unlike.found.told_apart, unlike.set_up, unlike.differs) == (False, "different", ("distance",))
    assert unlike.cancels == ("hand", "tank", "thermometer")
    assert unlike.found.uncertainty > 0.09 * 0.3
    assert (alike.set_up, alike.differs) == ("one", ())
    assert alike.cancels == ("hand", "marks", "tank", "thermometer")
    assert alike.found.uncertainty < 0.065 * 0.3
    told = " ".join(" ".join(lines(compare_measured(catalog, ["M1", "A1"]))).split())
    assert (
        "measured in one set-up on one evening, as their sheets say; both have the same error from the distance that was "
        "timed over, the hand at the watch, what nobody knows of the tank's walls and the thermometer, which cancels "
    ) in told


def test_a_timed_run_says_that_a_filmed_one_counts_in_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shop.db"
    add_run(shop(path), "M1", 0.45, 1)
    said = flybench(
        capsys,
        *("bench", "time", "2.1", "2.2", "2.0", "--distance", "60 cm +- 1 cm", "--temperature", "18 degC"),
        *("--tank-width", "200 mm", "--tank-depth", "200 mm", "--fly", "M1", "--catalog", path),
    )
    assert " ".join(said.out.split()).endswith(
        f"Saved as run 2 of fly M1 in {path} CHECK: this run was timed by hand, and does not count while a filmed one of "
        "the fly does (run 1). CHECK: this run differs from run 1 of the same fly by -15.6 cm/s, more than the "
        "uncertainties of the two explain. If it was another fly: flybench run set-aside 2 --why TEXT"
    )
    listed = flybench(capsys, "run", "list", "--columns", "fly,clip", "--catalog", path)
    assert " ".join(listed.err.split()) == (
        "Timed by hand, and not counted while a filmed run of the same fly is: run 2."
    )
    assert flybench(capsys, "fly", "list", "--columns", "name,sink", "--catalog", path).code == 0
