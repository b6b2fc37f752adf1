"""Labels that were read from photos, in words and as machine form."""

from __future__ import annotations

from collections import Counter
from typing import Any

from flybench.jobs.photos.scanning import ScannedPhotos
from flybench.telling.table import fitted

_TEXT = 3
"""Column of what the code holds: it is cut where the screen is narrow."""


def lines(found: ScannedPhotos) -> list[str]:
    """Return a line for each label: what it is of, and what its QR code holds."""
    rows = [[one.code or "unknown", one.kind, one.name, one.text] for one in found.labels]
    return fitted([["code", "kind", "name", "on the label"], *rows], [False] * 4, _TEXT)


def to_be_counted(photo: str, count: int) -> str:
    """Return what is said of a photo on which several labels were read: nobody can tell what was not seen at all."""
    return (
        f"{photo}: {count} labels were read. Count those on the photo: one that is too small, blurred or cut off is "
        "not seen."
    )


def remarks(found: ScannedPhotos) -> list[str]:
    """Return how many labels were read where there are several, which photos show codes that could not be read, and which
    labels nothing in the catalog has."""
    counts = Counter(str(one.photo) for one in found.labels)
    told = [to_be_counted(photo, count) for photo, count in counts.items() if count > 1]
    told += [
        f"{photo}: {count} more QR {'code' if count == 1 else 'codes'} on it cannot be read. Take the photo again, nearer "
        "and sharper."
        for photo, count in found.unread.items()
    ]
    unknown = list(dict.fromkeys(one.text for one in found.labels if not one.code))
    return [*told, *(f'Nothing in the catalog has the code of the label "{text}".' for text in unknown)]


def record(found: ScannedPhotos) -> dict[str, Any]:
    """Return the machine form."""
    return {
        "labels": [vars(one) | {"photo": str(one.photo)} for one in found.labels],
        "unread": {str(photo): count for photo, count in found.unread.items()},
    }
