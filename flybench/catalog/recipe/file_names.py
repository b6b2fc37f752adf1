"""Names of files that go with a recipe: plain ones only, on any machine."""

from __future__ import annotations

import unicodedata
from hashlib import sha256

from flybench.catalog.recipe.table import shown

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png")
_FORBIDDEN = set('/\\:*?"<>|')
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
_LONGEST = 200


def photo_problem(name: str) -> str | None:
    """Return why a text is no plain file name of a photo, or None where it is one."""
    size = len(name.encode("utf-8", "replace"))
    problems = (
        (size > _LONGEST, f"is longer than {_LONGEST} bytes"),
        (any(unicodedata.category(one) in ("Cc", "Cs") for one in name), "holds a control character"),
        (_FORBIDDEN & set(name), "holds a folder, a drive or a sign that file names cannot have"),
        (name.startswith(".") or name != name.strip() or _is_device(name), "is not an ordinary file name"),
        (not name.lower().endswith(PHOTO_ENDINGS), "does not end in .jpg, .jpeg or .png"),
        (name != unicodedata.normalize("NFC", name), "is written with loose accents"),
    )
    return next((f"{shown(name)} {told}" for wrong, told in problems if wrong), None)


def file_name(code: str) -> str:
    """Return the name of the file of a pattern, without ending; other codes have other names."""
    text = "".join(letter if letter.isalnum() or letter in "-_." else _percent(letter) for letter in code)
    if text.startswith(".") or _is_device(text):
        text = _percent(text[0]) + text[1:]
    if len(text.encode()) > _LONGEST:
        return f"recipe-{sha256(code.encode()).hexdigest()[:24]}"
    return text


def _percent(letter: str) -> str:
    return "".join(f"%{byte:02X}" for byte in letter.encode())


def _is_device(name: str) -> bool:
    return name.partition(".")[0].rstrip().lower() in _DEVICES
