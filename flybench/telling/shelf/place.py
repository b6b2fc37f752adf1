"""Where the catalog is and what is there: words and machine form."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flybench.jobs.shelf.safekeeping import Place

_MB = 1e6
"""Bytes in a megabyte."""


def lines(place: Place) -> list[str]:
    """Return where the catalog is and what is there."""
    if place.revision is None:
        return [place.name, "  There is no catalog yet; it is made when something is first put in."]
    size = "" if place.size_bytes is None else f", {place.size_bytes / _MB:.1f} MB"
    return [place.name, f"  {place.kind}{size}, version {place.revision} of the tables"]


def record(place: Place) -> dict[str, Any]:
    """Return the machine form of where the catalog is; revision null where there is none."""
    return asdict(place)
