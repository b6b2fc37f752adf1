"""Settings that all tests share, and what they make once for all workers."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from made_once import PLACE

# Else each worker, each run and each command that is started compiles tests and program anew.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
for library in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(
        library, "1"
    )  # tests run side by side: more threads than cores only wait for each other


LONGEST = (
    "tests/project/test_docs.py::test_commands_of_a_page_run_in_order",
    "tests/cli/test_cli.py::test_demo_measures_what_was_rendered",
    "tests/library/test_library_page.py",
    "tests/rig/test_rig_touches.py::test_intervals_hold_what_they_claim",
    "tests/sinking/test_forecast.py::test_intervals_hold_the_truth_as_often_as_they_say",
    "tests/bench/test_overlay.py",
    "tests/rig/test_rig_choosing.py",
    "tests/rig/test_rig_chain.py::test_stiff_springs_in_another_solver_come_as_deep",
    "tests/catalog/test_catalog_safety.py",
    "tests/catalog/test_catalog_imports_killed.py",
    "tests/bench/test_coverage.py",
    "tests/bench/test_planning.py::test_runs_under_the_plan_meet_the_wish",
    "tests/bench/test_time_base.py::test_a_slowed_clip_that_shows_no_start_is_never_good_and_says_so",
    "tests/bench/test_damaged.py",
)
"""Tests of five to thirty seconds each."""


_GARBAGE = 10_000
"""New things that may be garbage before it is looked for; Python's own 700 are for programs of fewer things at once."""


def pytest_collection_finish() -> None:
    """Let the search for garbage pass over libraries and tests, which stay to the end: it took a fifth of the time of
    tests with catalogs."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(_GARBAGE)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the longest tests begin first and the quick ones last, so that no worker is left alone with a long one."""

    def rank(item: pytest.Item) -> int:
        if item.get_closest_marker("slow") is None:
            return len(LONGEST) + 1
        return next(
            (place for place, name in enumerate(LONGEST) if item.nodeid.startswith(name)), len(LONGEST)
        )

    items.sort(key=rank)


@pytest.fixture(scope="session", autouse=True)
def folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """Return one folder for what is made once a session, shared by all its workers."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if hasattr(request.config, "workerinput") else base) / "made-once"
    shared.mkdir(exist_ok=True)
    os.environ[PLACE] = str(shared)
    return shared


@pytest.fixture(scope="session", autouse=True)
def statements_compiled_once() -> Iterator[None]:
    """Let the catalogs of all tests of a worker share their compiled statements."""
    from statements_compiled_once import compiled_once

    with compiled_once():
        yield


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Give the address of a PostgreSQL server, one for all tests of a worker; without one these are skipped."""
    from servers import running_server

    with running_server() as address:
        yield address


@pytest.fixture
def clips_read_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let commands that measure the same file with the same settings read it once a session.

    For tests of what is done with a measurement; those of measuring itself read each clip anew.
    """
    from clips import read_once

    from flybench.bench.clip.footage import Clip
    from flybench.bench.measure import Measurement
    from flybench.bench.sheet.settings import Settings

    def read(
        clip: Clip,
        settings: Settings,
        progress: Callable[[int, int], None] | None = None,
        close_ups: bool = True,
    ) -> Measurement:
        return read_once(folder, clip, settings, close_ups)

    monkeypatch.setattr("flybench.jobs.bench.measure.measure", read)


@pytest.fixture
def pages_drawn_once(folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Let commands that write the report page of the same run draw it once a session; for tests of what pages of the
    documentation say."""
    from made_once import once

    from flybench.bench.measure import Measurement
    from flybench.files import whole_file
    from flybench.jobs.bench import measure as measuring
    from flybench.jobs.bench.measure import Wanted

    draw = measuring._write_report

    def drawn(run: Measurement, wanted: Wanted, suffix: str) -> bytes:
        page = tmp_path / f"drawn-once{suffix}"
        draw(run, replace(wanted, report=[page]))
        made = page.read_bytes()
        page.unlink()
        return made

    def write(run: Measurement, wanted: Wanted) -> None:
        clip = run.observed.sha256
        for path in wanted.report:
            key = f"page of {run.result.clip.name} {clip} {run.view.geometry.settings!r} {wanted.photo!r} {path.suffix}"
            made = once(folder, key, lambda path=path: drawn(run, wanted, path.suffix))
            with whole_file(path) as part:
                part.write_bytes(made)

    monkeypatch.setattr(measuring, "_write_report", write)
