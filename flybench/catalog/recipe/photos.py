"""Photos that a recipe names: plain names of pictures that lie beside the file."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Any

from flybench.catalog.recipe.file_names import LONGEST, is_device
from flybench.catalog.recipe.values import Json, Value, as_toml, shown
from flybench.catalog.tables.base import NAME_LENGTH
from flybench.errors import BadValueError

MOST_PHOTOS = 20
"""Photos that one recipe may name; judgement."""
PHOTO_ENDINGS = (".jpg", ".jpeg", ".png")
_FORBIDDEN = set('/\\:*?"<>|')


@dataclass(frozen=True)
class RecipePhoto:
    """A photo beside the recipe file: its plain name, and the SHA-256 of its content once it was looked at."""

    name: str
    sha256: str = ""


@dataclass(frozen=True)
class Photos(Value):
    """Names of photos that lie beside the file."""

    def read(self, given: Any) -> tuple[RecipePhoto, ...]:
        """Return the photos; nothing is opened."""
        if not isinstance(given, list) or len(given) > MOST_PHOTOS:
            raise BadValueError(
                "", f"is not a list of up to {MOST_PHOTOS} names", 'Write it as ["side.jpg", "top.jpg"]'
            )
        seen: set[str] = set()
        for number, name in enumerate(given, 1):
            problem = photo_problem(name) if isinstance(name, str) else "is no name"
            if problem is None and name.casefold() in seen:
                problem = "is named twice"
            if problem:
                cure = "Give the plain name of a .jpg, .jpeg or .png file that lies beside this file"
                raise BadValueError(f"[{number}]", f"{shown(name)} {problem}", cure)
            seen.add(name.casefold())
        return tuple(RecipePhoto(name) for name in given)

    def write(self, value: Any) -> str:
        """Return the names as a list."""
        return f"[{', '.join(as_toml(photo.name) for photo in value)}]"

    def form(self) -> Json:
        """Return what the names may look like."""
        ending = "|".join("".join(f"[{sign}{sign.upper()}]" for sign in end[1:]) for end in PHOTO_ENDINGS)
        name = {
            "type": "string",
            "maxLength": NAME_LENGTH,
            "pattern": rf"^[^./\\:][^/\\:]*\.(?:{ending})$",
        }
        return {
            "type": "array",
            "items": name,
            "maxItems": MOST_PHOTOS,
            "uniqueItems": True,
            "examples": [["side.jpg"]],
        }


def photo_problem(name: str) -> str | None:
    """Return why a text is no plain file name of a photo ("is ..."), or None where it is one."""
    size = len(name.encode("utf-8", "replace"))
    problems = (
        (size > LONGEST, f"is longer than {LONGEST} bytes"),
        (any(unicodedata.category(one) in ("Cc", "Cs") for one in name), "holds a control character"),
        (_FORBIDDEN & set(name), "holds a folder, a drive or a sign that file names cannot have"),
        (name.startswith(".") or name != name.strip() or is_device(name), "is not an ordinary file name"),
        (not name.lower().endswith(PHOTO_ENDINGS), "does not end in .jpg, .jpeg or .png"),
        (name != unicodedata.normalize("NFC", name), "has accents apart from their letters"),
    )
    return next((problem for wrong, problem in problems if wrong), None)
