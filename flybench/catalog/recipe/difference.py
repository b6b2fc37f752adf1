"""What differs between two recipes or two materials: where, what it was and what it would be, in the words of the file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from flybench.catalog.recipe.photos import RecipePhoto
from flybench.catalog.recipe.records import (
    Recipe,
    RecipeChange,
    RecipeHead,
    RecipeMaterial,
    RecipeStep,
    RecipeVariant,
    values_of,
)

_MOST_NAMED = 5
"""Differences named in one message; judgement: more are not read."""
NOTHING = "nothing"
"""What stands for a value that is not there."""


@dataclass(frozen=True)
class Difference:
    """One key that differs: its place, such as "step[2].amount", what is there now and what would come."""

    place: str
    old: str
    new: str
    short: str = ""
    """Its place in a message that gives no values, where that is not ``place``."""


def recipe_differences(ours: Recipe, theirs: Recipe) -> list[Difference]:
    """Return where the recipe ``ours`` differs from ``theirs`` in the catalog, their materials left aside."""
    return [
        *_records("", RecipeHead, ours.pattern, theirs.pattern),
        *_photos(ours.pattern.photos, theirs.pattern.photos),
        *_records("", Recipe, ours, theirs),
        *_steps(ours.steps, theirs.steps),
        *_variants(ours.variants, theirs.variants),
    ]


def material_differences(ours: RecipeMaterial, theirs: RecipeMaterial) -> list[Difference]:
    """Return the keys in which two materials differ."""
    return list(_records("", RecipeMaterial, ours, theirs))


def in_short(found: Sequence[Difference]) -> str:
    """Return the first few of the places as one text."""
    places = list(dict.fromkeys(one.short or one.place for one in found))
    more = f" and {len(places) - _MOST_NAMED} more" if len(places) > _MOST_NAMED else ""
    return ", ".join(places[:_MOST_NAMED]) + more


def _records(before: str, kind: type[Any], ours: Any, theirs: Any) -> Iterator[Difference]:
    """Yield the keys of one value in which two tables of the file differ; a list is looked at elsewhere."""
    for name in values_of(kind):
        new, old = getattr(ours, name), getattr(theirs, name)
        if new != old and name != "photos":
            yield Difference(f"{before}{name}", value_text(kind, name, old), value_text(kind, name, new))


def _photos(ours: Sequence[RecipePhoto], theirs: Sequence[RecipePhoto]) -> Iterator[Difference]:
    for number, (new, old) in enumerate(zip_longest(ours, theirs), 1):
        if new != old:
            names = [NOTHING if one is None else one.name for one in (old, new)]
            same = "another picture of that name" if names[0] == names[1] else names[1]
            yield Difference(f"photos[{number}]", names[0], same)


def value_text(kind: type[Any], name: str, value: Any) -> str:
    """Return a value as the file has it, without quotation marks."""
    if value in (None, "", ()):
        return NOTHING
    return str(values_of(kind)[name].write(value)).strip('"')


def _steps(ours: Sequence[RecipeStep], theirs: Sequence[RecipeStep]) -> Iterator[Difference]:
    counts = f"number of steps ({len(ours)} in the file, {len(theirs)} in the catalog)"
    pairs = list(enumerate(zip_longest(ours, theirs), 1))
    for number, (new, old) in pairs:
        if new is None or old is None:
            yield Difference(f"step[{number}]", _table(RecipeStep, old), _table(RecipeStep, new), counts)
    for number, (new, old) in pairs:
        if new is not None and old is not None:
            yield from _records(f"step[{number}].", RecipeStep, new, old)


def _table(kind: type[Any], record: Any) -> str:
    """Return a table of the file on one line."""
    if record is None:
        return NOTHING
    texts = {name: value_text(kind, name, getattr(record, name)) for name in values_of(kind)}
    return ", ".join(f"{name} {text}" for name, text in texts.items() if text != NOTHING)


def _variants(ours: Sequence[RecipeVariant], theirs: Sequence[RecipeVariant]) -> Iterator[Difference]:
    here = {variant.code: variant for variant in ours}
    there = {variant.code: variant for variant in theirs}
    for code in sorted(here):
        new, old = here[code], there.get(code)
        before = f"variant {code}"
        if old is None:
            yield Difference(before, NOTHING, _table(RecipeVariant, new), f"{before} (not in the catalog)")
            continue
        yield from _records(f"{before}: ", RecipeVariant, new, old)
        if new.changes != old.changes:
            yield Difference(f"{before}: changes", _changes(old.changes), _changes(new.changes))


def _changes(changes: Iterable[RecipeChange]) -> str:
    return "; ".join(_table(RecipeChange, change) for change in changes) or NOTHING
