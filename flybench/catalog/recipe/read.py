"""Recipe files read: text to records, everything checked that can be without the catalog."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING, Any

from flybench.catalog.recipe.check import check_recipe
from flybench.catalog.recipe.records import (
    Recipe,
    file_key,
    in_order,
    joined_notes,
    split_notes,
    tables_of,
    values_of,
)
from flybench.catalog.recipe.values import shown
from flybench.catalog.tables.base import NOTE_LENGTH
from flybench.errors import BadValueError, FlybenchError

if TYPE_CHECKING:
    from pydantic import TypeAdapter, ValidationError

LARGEST_FILE = 1_000_000
"""Longest recipe file [bytes]; judgement: some hundred times a long recipe."""
_DEEPEST = 30
"""Dots in one line outside of texts; judgement: recipes have none but in numbers."""
_STRING_OR_COMMENT = re.compile(
    r'"""(?:\\.|[^\\])*?(?:"""|\\?\Z)|\'\'\'.*?(?:\'\'\'|\Z)|"(?:\\[^\n]|[^"\\\n])*"?|\'[^\'\n]*\'?|#[^\n]*',
    re.DOTALL,
)
"""Ends of what was not closed are taken along, so that no text takes long."""
Place = tuple[int | str, ...]
"""Where something stands in the file, as pydantic counts: ("step", 0, "amount")."""


def read_recipe(content: bytes, file: str) -> Recipe:
    """Return the recipe of a file's content; ``file`` is how messages name it.

    Photos are named only; nothing is opened. Raises FlybenchError with file, key, value, limit and cure.
    """
    return checked_recipe(parsed_recipe(content, file), file)


def checked_recipe(parsed: dict[str, Any], file: str) -> Recipe:
    """Return the recipe of a file's tables. Raises FlybenchError with file, key, value, limit and cure."""
    from pydantic import ValidationError  # loaded only when a recipe is read

    try:
        recipe = adapter().validate_python(parsed)
    except ValidationError as error:
        raise _in_plain_words(error, file) from None
    recipe = _with_about(recipe, file)
    check_recipe(recipe, file)
    return in_order(recipe)


@cache
def adapter() -> TypeAdapter[Recipe]:
    """Return what validates a recipe and knows its JSON Schema."""
    from pydantic import TypeAdapter

    return TypeAdapter(Recipe)


def parsed_recipe(content: bytes, file: str) -> dict[str, Any]:
    """Return the tables of a file as TOML gives them; raises FlybenchError for what is none."""
    if len(content) > LARGEST_FILE:
        raise FlybenchError(f"{file}: is larger than {LARGEST_FILE / 1e6:g} MB. Recipes are short texts.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FlybenchError(
            f"{file}: byte {error.start + 1} is not UTF-8. Save the file as text in UTF-8."
        ) from error
    _check_depth(text, file)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise _too_deep(file) from error
    except tomllib.TOMLDecodeError as error:
        raise FlybenchError(f"{file}: is not TOML ({error}). Correct that place.") from error
    except ValueError as error:  # a number of thousands of digits, a date such as 2026-02-30
        raise FlybenchError(f"{file}: holds an impossible number or date. Take it out.") from error


def _check_depth(text: str, file: str) -> None:
    """Refuse keys of a great many dotted parts, on which the parser would spend hours."""
    bare = _STRING_OR_COMMENT.sub("_", text)
    if any(line.count(".") > _DEEPEST for line in bare.split("\n")):
        raise _too_deep(file)


def _too_deep(file: str) -> FlybenchError:
    return FlybenchError(f"{file}: is nested too deep. Recipes have tables and lists of one level.")


def _with_about(recipe: Recipe, file: str) -> Recipe:
    """Return the recipe with what the file says about itself apart, wherever it stood."""
    head = recipe.pattern
    whole = len(joined_notes(recipe.about, head.notes))
    if whole > NOTE_LENGTH:
        raise BadValueError(
            f"{file}: pattern.notes", f"is {whole} letters long with about", f"Keep them to {NOTE_LENGTH}"
        )
    if recipe.about:
        return recipe
    about, notes = split_notes(head.notes)
    return replace(recipe, about=about, pattern=replace(head, notes=notes))


def _in_plain_words(error: ValidationError, file: str) -> BadValueError | FlybenchError:
    """Return the first error as file, key, what is wrong and what to do; keys that do not belong go first."""
    errors = error.errors(include_url=False)
    first = next((one for one in errors if one["type"] in _UNKNOWN), errors[0])
    place: Place = first["loc"]
    if first["type"] in _UNKNOWN:
        return _unknown_key(place, file)
    if first["type"] == "value":
        context = first["ctx"]
        return FlybenchError(f"{file}: {_key(place)}{context['below']}: {context['text']}")
    if place[0] == "pattern" and len(place) == 1:
        cure = "Begin the recipe with [pattern], with code, name and style"
        return BadValueError(f"{file}: pattern", "is missing", cure)
    if first["type"] == "missing":
        named = values_of(_record_at(place[:-1]))[str(place[-1])].named
        return BadValueError(f"{file}: {_key(place)}", "is missing", f"Give it; it is {named}")
    if isinstance(place[-1], int):
        place = place[:-1]
    heading = ".".join(one for one in place if isinstance(one, str))
    return BadValueError(
        f"{file}: {_key(place)}", "is not a list of tables", f"Begin each with [[{heading}]]"
    )


_UNKNOWN = ("unexpected_keyword_argument", "extra_forbidden")


def _unknown_key(place: Place, file: str) -> BadValueError:
    """Return the error about a key that does not belong where it stands, with the nearest one that does."""
    record, name = _record_at(place[:-1]), str(place[-1])
    names = [
        file_key(one)
        for one in record.__dataclass_fields__
        if one in (*values_of(record), *tables_of(record))
    ]
    close = get_close_matches(name, names, n=1)
    cure = f"Did you mean {close[0]}?" if close else f"Use {', '.join(names)}"
    return BadValueError(f"{file}: {_key((*place[:-1], shown(name).strip(chr(34))))}", "is not known", cure)


def _record_at(place: Place) -> type[Any]:
    """Return the record of the table at a place."""
    record: type[Any] = Recipe
    for part in place:
        if isinstance(part, str):
            record = next(below for name, below in tables_of(record).items() if file_key(name) == part)
    return record


def _key(place: Place) -> str:
    """Return a place as messages name it: "step[1].amount"."""
    return "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in place).removeprefix(
        "."
    )
