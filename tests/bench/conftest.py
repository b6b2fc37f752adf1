"""Where rendered clips are kept while the suite runs."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Path:
    """Return one folder for rendered clips, shared by all workers of this session."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if hasattr(request.config, "workerinput") else base) / "rendered-clips"
    shared.mkdir(exist_ok=True)
    return shared
