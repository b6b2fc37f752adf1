"""What takes long is made once for the whole suite, by whichever worker comes first, and read by all others."""

from __future__ import annotations

import fcntl
import hashlib
import os
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

PLACE = "FLYBENCH_TESTS_MADE_ONCE"
"""Names the folder that all workers share, set by tests/conftest.py."""


def once(folder: Path, key: str, make: Callable[[], Any]) -> Any:
    """Return what ``make`` returns, made by whichever worker comes first and read by all others.

    ``folder`` is shared by all workers; ``key`` says what it is made from. Others wait at a file lock.
    """
    kept = folder / f"{hashlib.sha256(key.encode()).hexdigest()[:20]}.pickle"
    with kept.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            made = kept.with_suffix(".part")
            made.write_bytes(pickle.dumps(make()))
            made.rename(kept)
    return pickle.loads(kept.read_bytes())


def shared() -> Path:
    """Return the folder that all workers share."""
    return Path(os.environ[PLACE])
