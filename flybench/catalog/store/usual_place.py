"""Where the catalog is when nothing is said; loads nothing, so that commands that open no catalog start at once."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_dir

VARIABLE = "FLYBENCH_CATALOG"
"""Environment variable that names the catalog."""


def default_address() -> str:
    """Return what FLYBENCH_CATALOG says, or the file in the platform's data folder."""
    folder = user_data_dir("flybench", appauthor=False)
    return os.environ.get(VARIABLE) or str(Path(folder) / "catalog.sqlite")
