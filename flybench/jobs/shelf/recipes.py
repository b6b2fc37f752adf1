"""Recipes brought in from files and written out to files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace as dc_replace
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.recipe.file_names import file_name
from flybench.catalog.recipe.filled import filled
from flybench.catalog.recipe.from_rows import load
from flybench.catalog.recipe.photos import RecipePhoto
from flybench.catalog.recipe.read import checked_recipe, read_recipe
from flybench.catalog.recipe.records import Recipe
from flybench.catalog.recipe.to_rows import Stored, planned, store
from flybench.catalog.recipe.write import write_recipe
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.backup import save_beside
from flybench.catalog.store.open import Catalog, may_be_there, open_catalog
from flybench.catalog.store.place_tags import without_place
from flybench.catalog.tables.materials import Bead
from flybench.catalog.tables.patterns import Pattern
from flybench.catalog.tables.photos import Photo, Picture
from flybench.errors import BadValueError, FlybenchError
from flybench.files import check_writable, whole_file
from flybench.jobs.shelf.one_water import bring_again
from flybench.jobs.shelf.recipe_files import photo_content, recipe_files, tables_of_file, with_photos
from flybench.shop.fly.bead_sizes import bead_mass_of

_KEYS = {
    "bead.diameter": "diameter",
    "bead.bore_diameter": "hole",
    "bead.mouth_diameter": "mouth",
    "bead.mouth_depth": "mouth_depth",
    "bead.slot_width": "slot",
}
"""Keys of a recipe file by the names that the geometry of a bead gives them."""


Ask = Callable[[Sequence[str]], None]
"""Hears every field that will change, one a line, before anything does; raises what stops it."""
Tell = Callable[[str], None]


def import_recipes(
    catalog: Catalog | str,
    paths: Sequence[Path],
    replace: bool = False,
    ask: Ask | None = None,
    tell: Tell | None = None,
    command: str = Catalog.command,
) -> Stored:
    """Bring in recipe files and folders of them, all or none; returns what was added and changed.

    What is not written in a file stays as the catalog has it. What is there already and differs is refused with what
    differs, unless ``replace``: then ``ask`` hears every field that will change, a backup is made, whose place ``tell``
    hears, and all is written in one transaction. ``command`` is kept with every change. Raises FlybenchError naming file and
    key; the catalog is then as before.
    """
    files = {str(path): tables_of_file(path) for path in recipe_files(paths)}
    tell = tell or (lambda line: None)
    if isinstance(catalog, str) and not may_be_there(catalog):
        _recipes(None, files)  # so that no catalog is made for files with errors
    opened = open_catalog(catalog, tell, command=command) if isinstance(catalog, str) else catalog
    lines: list[str] = []
    if replace:
        with opened.reading() as session:
            lines = planned(session, _recipes(session, files))
        _prepare(opened, lines, ask, tell)
    with opened.writing() as session:
        recipes = _recipes(session, files)
        if replace and planned(session, recipes) != lines:
            raise FlybenchError(
                f"{opened.name}: was changed by somebody else meanwhile; nothing was imported. Import once more."
            )
        stored = store(session, recipes, _mass_of, photo_content, replace)
        if replace:
            bring_again(session)
        return stored


def _prepare(catalog: Catalog, lines: Sequence[str], ask: Ask | None, tell: Tell) -> None:
    """Ask about all that will change, and keep the catalog as it is now; nothing where nothing will."""
    if not lines:
        return
    if ask is not None:
        ask(lines)
    if catalog.path is None:
        tell(f"{catalog.name}: is on a server, so flybench made no backup.")
    else:
        tell(f"The catalog before the change is kept as {save_beside(catalog.path, 'before-import')}")


def _recipes(session: Session | None, files: Mapping[str, dict[str, Any]]) -> dict[str, Recipe]:
    """Return the recipes of files, checked, what is not written in them taken from the catalog."""
    return {
        file: _kept_photos(session, with_photos(file, checked_recipe(parsed, file)), files[file])
        for file, parsed in filled(session, files).items()
    }


def _kept_photos(session: Session | None, recipe: Recipe, written: Mapping[str, Any]) -> Recipe:
    """Return the recipe with the photos that the catalog has of it, where the file says nothing of photos."""
    if session is None or "photos" in written["pattern"]:
        return recipe
    row = named(session, Pattern, recipe.code)
    if row is None:
        return recipe
    photos = tuple(RecipePhoto(photo.name, photo.sha256) for photo in row.photos)
    return dc_replace(recipe, pattern=dc_replace(recipe.pattern, photos=photos))


def export_recipes(
    catalog: Catalog | str, codes: Sequence[str] | None, folder: Path, overwrite: bool = False
) -> list[Path]:
    """Write one recipe file a pattern into the folder, photos beside them; returns the recipe files.

    ``codes`` None means all. Files that are there with the same content are left alone, with other content
    refused unless ``overwrite``. Each file is written whole. Raises FlybenchError for that, for patterns
    whose photos have one name but are not alike, and for what no recipe file can hold.
    """
    opened = open_catalog(catalog, make=False) if isinstance(catalog, str) else catalog
    with opened.reading() as session:
        recipes = [load(session, code) for code in dict.fromkeys(_codes(session, codes))]
        recipes = list({recipe.code: recipe for recipe in recipes}.values())
        texts = {folder / f"{file_name(recipe.code)}.toml": _text(recipe) for recipe in recipes}
        photos = _photos(recipes, folder)
        _make_folder(folder)
        todo = [path for path in texts if not _is_there(path, texts[path], overwrite)]
        new = {
            path: place
            for path, place in photos.items()
            if not _is_there(path, _photo(session, *place), overwrite)
        }
        for path, place in new.items():
            _write(path, _photo(session, *place))
        for path in todo:
            _write(path, texts[path])
    return list(texts)


def _mass_of(bead: Bead) -> tuple[float, float]:
    """Return a bead's mass and its standard uncertainty [kg]; errors name the keys of the file."""
    try:
        return bead_mass_of(bead)
    except BadValueError as error:
        rest = str(error).removeprefix(error.key)
        raise FlybenchError(f"{_KEYS.get(error.key, error.key)}{rest}") from error


def _codes(session: Session, codes: Sequence[str] | None) -> Sequence[str]:
    if codes is not None:
        return codes
    every = session.scalars(select(Pattern.code).order_by(Pattern.code)).all()
    if not every:
        raise FlybenchError("export: the catalog holds no patterns. Add some, or import recipes first.")
    return every


def _text(recipe: Recipe) -> bytes:
    """Return the file of a recipe; one that could not be read back is refused."""
    text = write_recipe(recipe)
    again = read_recipe(text, f"pattern {recipe.code}")
    if write_recipe(again) != text:
        raise FlybenchError(
            f"pattern {recipe.code}: has texts that a recipe file cannot keep exactly. "
            "Write them again: blanks at their ends and accents apart from their letters are not kept."
        )
    return text


def _photos(recipes: Sequence[Recipe], folder: Path) -> dict[Path, tuple[str, str]]:
    """Return which photo goes to which file; refuse two of one name that are not alike."""
    owners: dict[str, tuple[str, str, str]] = {}
    for recipe in recipes:
        for photo in recipe.pattern.photos:
            code, name, sha256 = owners.setdefault(
                photo.name.casefold(), (recipe.code, photo.name, photo.sha256)
            )
            if (name, sha256) != (photo.name, photo.sha256):
                raise FlybenchError(
                    f"photo {photo.name}: patterns {code} and {recipe.code} each have another photo of that name. "
                    "Export the two to different folders."
                )
    return {folder / name: (code, name) for code, name, _ in owners.values()}


def _photo(session: Session, code: str, name: str) -> bytes:
    """Return a photo of a pattern as the catalog keeps it, but for a place in it, which an older catalog may hold."""
    found = select(Picture.content).join(Photo).join(Pattern).where(Pattern.code == code, Photo.name == name)
    return without_place(session.scalars(found).one())


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FlybenchError(f"{folder}: cannot be made ({error.strerror}). Name another folder.") from error


def _is_there(path: Path, content: bytes, overwrite: bool) -> bool:
    """Tell whether the file is there as it would be written; refuse another one in its place."""
    check_writable(path)
    try:
        if not path.exists():
            return False
        if path.stat().st_size == len(content) and path.read_bytes() == content:
            return True
    except OSError as error:
        raise FlybenchError(f"{path}: cannot be read ({error.strerror}). Name another folder.") from error
    if not overwrite:
        raise FlybenchError(
            f"{path}: exists already with other content; nothing was written. "
            "Name another folder, or add --overwrite."
        )
    return False


def _write(path: Path, content: bytes) -> None:
    with whole_file(path) as part:
        part.write_bytes(content)
