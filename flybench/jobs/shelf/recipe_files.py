"""Recipe files and the photos beside them, found and read without trusting what they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from flybench.catalog.recipe.photos import RecipePhoto
from flybench.catalog.recipe.read import LARGEST_FILE, parsed_recipe
from flybench.catalog.recipe.records import Recipe
from flybench.catalog.store.place_tags import without_place
from flybench.errors import BadValueError, FlybenchError
from flybench.files import content_of

LARGEST_PHOTO = 5_000_000
"""Largest photo of a recipe [bytes]."""
_MAGIC = {"jpg": b"\xff\xd8\xff", "jpeg": b"\xff\xd8\xff", "png": b"\x89PNG\r\n\x1a\n"}
"""What a picture begins with: ITU-T T.81 (JPEG), ISO/IEC 15948 (PNG)."""


def recipe_files(paths: Sequence[Path]) -> list[Path]:
    """Return the files meant, each once: files as they are, of folders what ends in .toml, by name.

    Raises FlybenchError for a path that is not there and for a folder without recipes.
    """
    found: dict[Path, Path] = {}
    for path in paths:
        for file in _in_folder(path) if path.is_dir() else [path]:
            found.setdefault(file.resolve(), file)
    if not found:
        raise FlybenchError("import: no files were given. Name recipe files or a folder of them.")
    return list(found.values())


def _in_folder(folder: Path) -> list[Path]:
    try:
        files = sorted(
            file
            for file in folder.iterdir()
            if file.suffix.lower() == ".toml" and not file.name.startswith(".")
        )
    except OSError as error:
        raise FlybenchError(f"{folder}: cannot be read ({error.strerror}). Check its permissions.") from error
    if not files:
        raise FlybenchError(
            f"{folder}: holds no .toml files. Name a folder with recipes, or the files themselves."
        )
    return files


def tables_of_file(path: Path) -> dict[str, Any]:
    """Return the tables of a recipe file as TOML gives them. Raises FlybenchError for what is no such file."""
    file = str(path)
    return parsed_recipe(content_of(path, LARGEST_FILE, f"{file}:"), file)


def with_photos(file: str, recipe: Recipe) -> Recipe:
    """Return the recipe of a file, its photos looked at. Raises FlybenchError with file, key and cure."""
    path = Path(file)
    photos = tuple(
        RecipePhoto(photo.name, sha256(_photo(path, file, number, photo.name)).hexdigest())
        for number, photo in enumerate(recipe.pattern.photos, 1)
    )
    return replace(recipe, pattern=replace(recipe.pattern, photos=photos))


def photo_content(file: str, recipe: Recipe, name: str) -> bytes:
    """Return a photo of the recipe of a file. Raises FlybenchError where it changed since it was read."""
    path = Path(file)
    number, photo = next((n, one) for n, one in enumerate(recipe.pattern.photos, 1) if one.name == name)
    content = _photo(path, file, number, name)
    if sha256(content).hexdigest() != photo.sha256:
        raise FlybenchError(f"{path.parent / name}: changed while it was read. Import once more.")
    return content


def _photo(path: Path, file: str, number: int, name: str) -> bytes:
    """Return the content of a photo beside the file, in that folder, small enough, and a picture; no place is left in it."""
    key = f"{file}: pattern.photos[{number}]"
    place = path.parent / name
    try:
        inside = place.resolve(strict=True).parent == path.parent.resolve(strict=True)
    except (OSError, RuntimeError) as error:
        raise BadValueError(
            key, f'"{name}" is not beside the file', "Put it there, or take it out of the list"
        ) from error
    if not inside:
        raise BadValueError(key, f'"{name}" is a link out of the folder', "Put the picture itself there")
    content = content_of(place, LARGEST_PHOTO, f'{key}: "{name}"')
    if not content.startswith(_MAGIC[name.rpartition(".")[2].lower()]):
        raise BadValueError(
            key,
            f'"{name}" is not such a picture',
            "Save it as JPEG or PNG, with the ending that fits",
        )
    return without_place(content)
