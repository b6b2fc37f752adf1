"""Photos of a pattern, a variant or a fly in the catalog: added, listed, taken away."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.recipe.photos import MOST_PHOTOS, photo_problem
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.shelf.pictures import kept_picture
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.base import NAME_LENGTH
from flybench.catalog.tables.photos import Photo
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.photos.clean_picture import clean_picture

SHOWN = ("pattern", "variant", "fly")
"""Nouns that may have photos."""


@dataclass(frozen=True)
class PhotoShown:
    """A photo of the catalog: what it is of, its name, caption, size [px] and bytes as kept."""

    noun: str
    code: str
    name: str
    caption: str
    width: int | None
    height: int | None
    size: int
    sha256: str


def add_photo(catalog: Catalog, noun: str, code: str, file: Path, caption: str = "") -> PhotoShown:
    """Keep the picture of a file as a photo of one thing, made anew without place tags and no larger than it is shown.

    Raises FlybenchError for a file that is no picture, is damaged or too large, BadValueError for an unknown code, a name
    that the thing has already, or too many photos.
    """
    picture = clean_picture(file)
    name = f"{file.stem}.jpg"
    problem = photo_problem(name)
    if problem:
        raise FlybenchError(f"{file}: {problem}. Give the file a plain name, such as side.jpg.")
    if len(caption) > NAME_LENGTH:
        raise BadValueError(
            "--caption", f"has {len(caption)} letters, more than {NAME_LENGTH}", "Write a shorter one"
        )
    with catalog.writing() as session:
        row: Any = shelf.get(session, NOUNS[noun], code)
        _check_room(row, noun, name)
        kept = kept_picture(session, picture.content, picture.width, picture.height)
        row.photos.append(
            Photo(
                position=1 + max((one.position for one in row.photos), default=0),
                name=name,
                caption=caption,
                picture=kept,
            )
        )
        session.flush()
        return _shown(noun, row.code, row.photos[-1])


def photos_of(catalog: Catalog, noun: str, code: str) -> list[PhotoShown]:
    """Return the photos of one thing in their order; raises BadValueError for an unknown code."""
    with catalog.reading() as session:
        row: Any = shelf.get(session, NOUNS[noun], code)
        return [_shown(noun, row.code, photo) for photo in row.photos]


def remove_photo(catalog: Catalog, noun: str, code: str, name: str) -> PhotoShown:
    """Take a photo off one thing; raises BadValueError where it has none of that name."""
    with catalog.writing() as session:
        row: Any = shelf.get(session, NOUNS[noun], code)
        photo = _named(row, noun, name)
        shown = _shown(noun, row.code, photo)
        _take_off(session, row, photo)
        return shown


def _take_off(session: Session, row: Any, photo: Photo) -> None:
    row.photos.remove(photo)
    session.flush()


def _named(row: Any, noun: str, name: str) -> Photo:
    found: Photo | None = next((one for one in row.photos if one.name == name), None)
    if found is None:
        names = ", ".join(one.name for one in row.photos)
        cure = f"Name one of {names}" if names else f"See what it has with: flybench {noun} show {row.code}"
        raise BadValueError("--remove", f'{noun} {row.code} has no photo "{name}"', cure)
    return found


def _check_room(row: Any, noun: str, name: str) -> None:
    if any(one.name.casefold() == name.casefold() for one in row.photos):
        raise BadValueError(
            "FILE",
            f"{noun} {row.code} has a photo {name} already",
            f"Take it off with --remove {name}, or give the file another name",
        )
    if len(row.photos) >= MOST_PHOTOS:
        raise BadValueError(
            "FILE",
            f"{noun} {row.code} has {MOST_PHOTOS} photos, as many as it may have",
            "Take one off with --remove",
        )


def _shown(noun: str, code: str, photo: Photo) -> PhotoShown:
    picture = photo.picture
    return PhotoShown(
        noun,
        code,
        photo.name,
        photo.caption,
        picture.width,
        picture.height,
        len(picture.content),
        picture.sha256,
    )
