"""Photos of the catalog in words and as machine form."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from flybench.jobs.photos.photos import PhotoShown
from flybench.telling.table import aligned

_HEADS = ("photo", "pixels", "kB", "caption")


def added(photo: PhotoShown) -> str:
    """Return what was kept of a picture."""
    return (
        f"Kept {photo.name} with {photo.noun} {photo.code}: {photo.width} x {photo.height} px, made anew, so that no place "
        "and no other note of the phone is in it."
    )


def removed(photo: PhotoShown) -> str:
    """Return what was taken off."""
    return f"Took {photo.name} off {photo.noun} {photo.code}."


def lines(photos: Sequence[PhotoShown], noun: str, code: str) -> list[str]:
    """Return the photos of one thing as a table."""
    if not photos:
        return [f"There are no photos of {noun} {code}. Add one with: flybench {noun} photo {code} FILE"]
    rows = [
        (one.name, f"{one.width} x {one.height}", f"{math.ceil(one.size / 1e3)}", one.caption)
        for one in photos
    ]
    return aligned([_HEADS, *rows], [False, True, True, False])


def record(photo: PhotoShown) -> dict[str, Any]:
    """Return a photo for machines."""
    return asdict(photo)
