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
        clip: Clip, settings: Settings, progress: Callable[[int, int], None] | None = None
    ) -> Measurement:
        run: Measurement = once(
            folder, f"{clip.name} {clip.sha256()} {settings!r}", lambda: measure(clip, settings)
        )
        return run

    monkeypatch.setattr("flybench.jobs.bench.measure.measure", read)
