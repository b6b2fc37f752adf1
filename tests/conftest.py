"""Settings that all tests share, and what they make once for all workers."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

for library in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(
        library, "1"
    )  # tests run side by side: more threads than cores only wait for each other


LONGEST = (
    "tests/cli/test_cli.py::test_demo_measures_what_was_rendered",
    "tests/project/test_docs.py::test_commands_of_a_page_run_in_order",
    "tests/library/test_library_page.py",
    "tests/rig/test_rig_touches.py::test_intervals_hold_what_they_claim",
    "tests/rig/test_rig_choosing.py",
    "tests/rig/test_rig_chain.py::test_stiff_springs_in_another_solver_come_as_deep",
    "tests/catalog/test_catalog_safety.py",
    "tests/catalog/test_catalog_imports_killed.py",
    "tests/bench/test_coverage.py",
    "tests/bench/test_damaged.py",
)
"""Tests of five to thirty seconds each."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let the longest tests begin first and the quick ones last, so that no worker is left alone with a long one."""

    def rank(item: pytest.Item) -> int:
        if item.get_closest_marker("slow") is None:
            return len(LONGEST) + 1
        return next(
            (place for place, name in enumerate(LONGEST) if item.nodeid.startswith(name)), len(LONGEST)
        )

    items.sort(key=rank)


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """Return one folder for what is made once a session, shared by all its workers."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if hasattr(request.config, "workerinput") else base) / "made-once"
    shared.mkdir(exist_ok=True)
    return shared


@pytest.fixture
def clips_read_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let commands that measure the same file with the same settings read it once a session.

    For tests of what is done with a measurement; those of measuring itself read each clip anew.
    """
    from clips import once

    from flybench.bench.clip.footage import Clip
    from flybench.bench.measure import Measurement, measure
    from flybench.bench.sheet.settings import Settings

    def read(
        clip: Clip,
        settings: Settings,
        progress: Callable[[int, int], None] | None = None,
        close_ups: bool = True,
    ) -> Measurement:
        run: Measurement = once(
            folder,
            f"{clip.name} {clip.sha256()} {settings!r} {close_ups}",
            lambda: measure(clip, settings, None, close_ups),
        )
        return run

    monkeypatch.setattr("flybench.jobs.bench.measure.measure", read)
