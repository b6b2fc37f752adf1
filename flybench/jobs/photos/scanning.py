"""Labels read from photos: what their QR codes hold, and what of the catalog that is."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.orm import Session

from flybench.bench.clip.qr_codes import QrCodes, qr_codes
from flybench.bench.clip.still import is_still, read_still
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.not_there import CODED
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError

_LONGEST = 500
"""Letters of what a QR code may hold (judgement: an address and a few fields)."""
_AGAIN = "Take the photo again, nearer and sharper, with all of each label on it"


@dataclass(frozen=True)
class ScannedLabel:
    """A label on a photo: what its QR code holds, and the kind, code and name of what that is, empty where nothing has it."""

    photo: Path
    text: str
    kind: str = ""
    code: str = ""
    name: str = ""


@dataclass(frozen=True)
class ScannedPhotos:
    """All labels of photos, and by photo how many codes on it could not be read."""

    labels: tuple[ScannedLabel, ...]
    unread: dict[Path, int]


def every_code(photo: Path) -> list[str]:
    """Return what the QR codes on a photo hold, one for each label on it, row by row.

    Raises FlybenchError where it is no photo, where it shows no code, and where one of several cannot be read: what was
    sold or counted must not go missing.
    """
    found = _of_photo(photo)
    if found.unread:
        all_of_them = found.unread + len(found.texts)
        raise FlybenchError(
            f"{photo}: {found.unread} of {all_of_them} QR codes on it cannot be read. {_AGAIN}, or type the codes."
        )
    return list(found.texts)


def known_labels(catalog: Catalog, photos: Sequence[Path]) -> ScannedPhotos:
    """Return the labels on photos with what of the catalog they belong to.

    Raises FlybenchError where one is no photo, and where nothing on it can be read.
    """
    read = {photo: _of_photo(photo) for photo in photos}
    with catalog.reading() as session:
        labels = [_known(session, photo, text) for photo, found in read.items() for text in found.texts]
    return ScannedPhotos(tuple(labels), {photo: one.unread for photo, one in read.items() if one.unread})


def _known(session: Session, photo: Path, text: str) -> ScannedLabel:
    for kind in CODED:
        row = named(session, NOUNS[kind].model, text)
        if row is not None:
            variant = row.variant if isinstance(row, Fly) else row
            named_by = variant.pattern if isinstance(variant, Variant) else variant
            return ScannedLabel(photo, text, kind, row.code, named_by.name)
    return ScannedLabel(photo, text)


def _of_photo(photo: Path) -> QrCodes:
    if not photo.exists():
        raise FlybenchError(f"{photo}: there is no such file. Name a photo of labels.")
    if not is_still(photo):
        raise FlybenchError(f"{photo}: is not a photo by its name. Name a JPEG or PNG of labels.")
    found = qr_codes(read_still(photo, "Save it again as JPEG or PNG"))
    if not found.texts:
        seen = (
            "the QR codes on it cannot be read" if found.unread else "no QR code of a label was found on it"
        )
        raise FlybenchError(f"{photo}: {seen}. {_AGAIN}.")
    for text in found.texts:
        if not _is_of_a_label(text):
            shown = "".join(sign if sign.isprintable() else "?" for sign in text[:40])
            raise FlybenchError(
                f'{photo}: a QR code on it holds "{shown}", which is not from a label. Leave it off the photo.'
            )
    return found


def _is_of_a_label(text: str) -> bool:
    """Tell whether a text may stand on a label: nothing that a command would take for an option, nothing unseen."""
    plain = all(unicodedata.category(sign)[0] != "C" for sign in text)
    return plain and bool(text.strip()) and not text.startswith("-") and len(text) <= _LONGEST
