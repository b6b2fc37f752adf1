"""A catalog put back from a backup: words and machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.shelf.safekeeping import Restored


def lines(done: Restored) -> list[str]:
    """Return which catalog was put back."""
    return [f"Restored {done.name}"]


def record(done: Restored) -> dict[str, Any]:
    """Return the machine form of a catalog put back: ``kept`` is where the one before it is, null for none."""
    return {
        "catalog": done.name,
        "restored": str(done.source),
        "kept": None if done.kept is None else str(done.kept),
    }
