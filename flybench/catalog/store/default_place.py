"""Where the catalog is kept when nothing else is said."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_dir

VARIABLE = "FLYBENCH_CATALOG"
"""Environment variable that names the catalog."""


def default_address() -> str:
    """Return what FLYBENCH_CATALOG says, or the file in the platform's data folder."""
    return os.environ.get(VARIABLE) or str(
        Path(user_data_dir("flybench", appauthor=False)) / "catalog.sqlite"
    )
