"""What differs between two recipes or two materials, in the keys of the file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import Any

from flybench.catalog.recipe.records import Recipe, RecipeHead, RecipeMaterial

_MOST_NAMED = 5
"""Differences named in one message; judgement: more are not read."""
_BY_CODE = "variants"


def recipe_differences(ours: Recipe, theirs: Recipe) -> list[str]:
    """Return where two recipes differ, their materials left aside: "name", "step[2].amount", ..."""
    pairs: list[tuple[str, Any, Any]] = [
        (one.name, ours.pattern, theirs.pattern) for one in fields(RecipeHead)
    ]
    pairs += [(one.name, ours, theirs) for one in fields(Recipe) if one.name not in ("pattern", "materials")]
    return [line for name, one, other in pairs for line in _differ(name, _of(one, name), _of(other, name))]


def material_differences(ours: RecipeMaterial, theirs: RecipeMaterial) -> list[str]:
    """Return the keys in which two materials differ."""
    return [one.name for one in fields(RecipeMaterial) if _of(ours, one.name) != _of(theirs, one.name)]


def in_short(lines: Sequence[str]) -> str:
    """Return the first few of the differences as one text."""
    more = f" and {len(lines) - _MOST_NAMED} more" if len(lines) > _MOST_NAMED else ""
    return ", ".join(lines[:_MOST_NAMED]) + more


def _of(record: Any, name: str) -> Any:
    return getattr(record, name)


def _differ(name: str, ours: Any, theirs: Any) -> Iterator[str]:
    if ours == theirs:
        return
    if not isinstance(ours, tuple):
        yield name
        return
    if name == _BY_CODE:
        yield from _variants_differ(ours, theirs)
        return
    single = name.removesuffix("s")
    if len(ours) != len(theirs):
        yield f"number of {name} ({len(ours)} in the file, {len(theirs)} in the catalog)"
    for number, (one, other) in enumerate(zip(ours, theirs, strict=False), 1):
        if name == "photos" and one != other:
            yield f"photos[{number}]"
            continue
        for part in fields(one):
            if _of(one, part.name) != _of(other, part.name):
                yield f"{single}[{number}].{part.name}"


def _variants_differ(ours: Sequence[Any], theirs: Sequence[Any]) -> Iterator[str]:
    here = {variant.code: variant for variant in ours}
    there = {variant.code: variant for variant in theirs}
    for code in sorted(here.keys() | there.keys()):
        if code not in there:
            yield f"variant {code} (not in the catalog)"
        elif code not in here:
            yield f"variant {code} (only in the catalog)"
        else:
            for part in fields(here[code]):
                if _of(here[code], part.name) != _of(there[code], part.name):
                    yield f"variant {code}: {part.name}"
