"""What the parts of a recipe owe each other: references that lead somewhere, sizes that fit the kind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from flybench.catalog.recipe.records import (
    Recipe,
    RecipeChange,
    RecipeMaterial,
    RecipeStep,
    RecipeVariant,
    values_of,
)
from flybench.catalog.recipe.values import MaterialCode, as_toml, shown
from flybench.catalog.tables.vocabulary import MaterialKind
from flybench.errors import BadValueError


def check_recipe(recipe: Recipe, file: str) -> None:
    """Refuse what is not given together, sizes of another kind of material, and codes that lead nowhere.

    The recipe is still in the order of the file, so that messages count as the file does. Raises BadValueError with
    file, key and cure.
    """
    for number, step in enumerate(recipe.steps, 1):
        _check_together(step, f"{file}: step[{number}]")
    for number, variant in enumerate(recipe.variants, 1):
        for place, change in enumerate(variant.changes, 1):
            if all(getattr(change, name) is None for name in RecipeChange.AT_LEAST_ONE):
                key = f"{file}: variant[{number}].change[{place}].step"
                cure = "Give another material or amount, or leave the change out"
                raise BadValueError(key, "is not changed", cure)
    for number, material in enumerate(recipe.materials, 1):
        _check_kind(material, f"{file}: material[{number}]")
        _check_together(material, f"{file}: material[{number}]")
    _check_references(recipe, file)
    _check_changes(recipe, file)
    _check_bases(file, recipe.variants)


def _check_together(record: RecipeStep | RecipeMaterial, place: str) -> None:
    """Refuse one of two keys without the other."""
    one, other = record.TOGETHER
    if (getattr(record, one) is None) != (getattr(record, other) is None):
        missing = one if getattr(record, one) is None else other
        raise BadValueError(
            f"{place}.{missing}", "is missing", f"Give {one} and {other} together, or neither"
        )


def _check_kind(material: RecipeMaterial, place: str) -> None:
    """Refuse keys of another kind and missing ones."""
    kind = material.kind
    for name, value in values_of(RecipeMaterial).items():
        kinds, given = value.kinds, getattr(material, name) is not None
        if given and kinds and kind not in kinds:
            owner = " or ".join(one.value for one in kinds)
            raise BadValueError(
                f"{place}.{name}", f"belongs to a {owner}, not to a {kind.value}", "Take it out"
            )
        if not given and kind in kinds and value.needed:
            raise BadValueError(f"{place}.{name}", "is missing", f"A {kind.value} needs {_needs(kind)}")
    if kind is MaterialKind.HOOK and material.mass is not None and material.mass[1] is not None:
        problem = "of a hook is kept without uncertainty"
        raise BadValueError(f"{place}.mass", problem, 'Leave out what follows "+-"')


def _needs(kind: MaterialKind) -> str:
    """Return in words what a kind of material cannot do without."""
    needed = {
        name: value
        for name, value in values_of(RecipeMaterial).items()
        if value.needed and kind in value.kinds
    }
    *names, last = needed
    if names:
        return f"{', '.join(names)} and {last}"
    what = needed[last].what.removesuffix(f" of a {kind.value}").lower()
    return f"its {what}, such as {last} = {as_toml(needed[last].form()['examples'][0])}"


def _check_references(recipe: Recipe, file: str) -> None:
    """Refuse codes that stand twice, references to nothing, materials of the wrong kind and unused ones."""
    _check_twice(file, "variant", [variant.code for variant in recipe.variants])
    _check_twice(file, "material", [material.code for material in recipe.materials])
    kinds = {material.code: material.kind for material in recipe.materials}
    used: set[str] = set()
    for place, code, kind in _uses(recipe):
        used.add(code)
        if code not in kinds:
            raise BadValueError(
                f"{file}: {place}",
                f"no [[material]] has the code {shown(code)}",
                "Add the material to this file, or correct the code",
            )
        if kind is not None and kinds[code] is not kind:
            raise BadValueError(
                f"{file}: {place}", f"{shown(code)} is a {kinds[code].value}", f"Name a {kind.value}"
            )
    for number, material in enumerate(recipe.materials, 1):
        if material.code not in used:
            raise BadValueError(
                f"{file}: material[{number}].code",
                f"nothing uses {shown(material.code)}",
                "Take it out, or name it in a step or a variant",
            )


def _check_twice(file: str, name: str, codes: Iterable[str]) -> None:
    seen: dict[str, int] = {}
    for number, code in enumerate(codes, 1):
        first = seen.setdefault(code.casefold(), number)
        if first != number:
            raise BadValueError(
                f"{file}: {name}[{number}].code",
                f"{shown(code)} is used already, by {name}[{first}]",
                "Choose another code; upper and lower case count as the same",
            )


def _uses(recipe: Recipe) -> Iterator[tuple[str, str, MaterialKind | None]]:
    """Yield each place that names a material, the code, and the kind it must have."""
    for number, step in enumerate(recipe.steps, 1):
        yield from _named_in(step, f"step[{number}]")
    for number, variant in enumerate(recipe.variants, 1):
        yield from _named_in(variant, f"variant[{number}]")
        for place, change in enumerate(variant.changes, 1):
            yield from _named_in(change, f"variant[{number}].change[{place}]")


def _named_in(record: Any, place: str) -> Iterator[tuple[str, str, MaterialKind | None]]:
    for name, value in values_of(type(record)).items():
        code = getattr(record, name)
        if isinstance(value, MaterialCode) and code is not None:
            yield f"{place}.{name}", code, value.leads_to


def _check_changes(recipe: Recipe, file: str) -> None:
    """Refuse changes of steps that are not there, of one step twice, and amounts without a unit."""
    for number, variant in enumerate(recipe.variants, 1):
        seen: set[int] = set()
        for change in variant.changes:
            key = f"{file}: variant[{number}].change"
            if not 1 <= change.step <= len(recipe.steps):
                raise BadValueError(
                    key, f"there is no step {shown(change.step)}", f"Steps are 1 to {len(recipe.steps)}"
                )
            if change.step in seen:
                raise BadValueError(key, f"step {change.step} is changed twice", "Join the two")
            seen.add(change.step)
            if change.amount and recipe.steps[change.step - 1].unit is None:
                raise BadValueError(
                    key,
                    f"step {change.step} has no unit for an amount",
                    f"Give step[{change.step}] an amount and a unit",
                )


def _check_bases(file: str, variants: tuple[RecipeVariant, ...]) -> None:
    """Refuse variants based on none of this file, and circles."""
    bases: Mapping[str, str | None] = {variant.code: variant.based_on for variant in variants}
    sound: set[str] = set()
    for number, variant in enumerate(variants, 1):
        key = f"{file}: variant[{number}].based_on"
        chain = {variant.code: None}
        base = variant.based_on
        while base is not None and base not in sound:
            if base not in bases:
                raise BadValueError(
                    key,
                    f"no [[variant]] here has the code {shown(base)}",
                    "Name a variant of this file, or leave it out",
                )
            if base in chain:
                circle = " -> ".join([*list(chain)[:8], base])
                raise BadValueError(
                    key,
                    f"is based on itself in the end: {circle}",
                    "Base it on a variant that is not based on this one",
                )
            chain[base] = None
            base = bases[base]
        sound.update(chain)
