"""What the parts of a recipe owe each other: references that lead somewhere, sizes that fit the kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from flybench.catalog.recipe.records import Recipe, RecipeMaterial, RecipeVariant
from flybench.catalog.recipe.table import Table, shown
from flybench.catalog.tables.vocabulary import MaterialKind
from flybench.errors import BadValueError

_OF_BEAD = ("diameter", "metal", "bore", "hole", "mouth", "mouth_depth", "slot")
_OF_HOOK = ("hook", "gape", "shank", "wire")
_NEEDED = {MaterialKind.BEAD: ("diameter", "metal", "bore"), MaterialKind.HOOK: ("hook",)}
_NEEDS_TOLD = {
    MaterialKind.BEAD: "diameter, metal and bore",
    MaterialKind.HOOK: "its trade size, such as hook = 14",
}


def check_material(material: RecipeMaterial, table: Table) -> None:
    """Refuse sizes of another kind, missing ones, and a pack without a price."""
    kind = material.kind
    owners = {
        **dict.fromkeys(_OF_BEAD, (MaterialKind.BEAD,)),
        **dict.fromkeys(_OF_HOOK, (MaterialKind.HOOK,)),
        "mass": (MaterialKind.BEAD, MaterialKind.HOOK),
    }
    for name, allowed in owners.items():
        if getattr(material, name) is not None and kind not in allowed:
            owner = " or ".join(one.value for one in allowed)
            raise table.bad(name, f"belongs to a {owner}, not to a {kind.value}", "Take it out")
    for name in _NEEDED.get(kind, ()):
        if getattr(material, name) is None:
            raise table.bad(name, "is missing", f"A {kind.value} needs {_NEEDS_TOLD[kind]}")
    if kind is MaterialKind.HOOK and material.mass_u is not None:
        raise table.bad("mass", "of a hook is kept without uncertainty", 'Leave out what follows "+-"')
    if (material.pack is None) != (material.price is None):
        missing = "pack" if material.pack is None else "price"
        raise table.bad(missing, "is missing", "Give pack and price together, or neither")


def check_references(recipe: Recipe) -> None:
    """Refuse codes that stand twice, references to nothing, materials of the wrong kind and unused ones.

    The recipe is still in the order of the file, so that messages count as the file does.
    """
    file = recipe.source
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
                "Add the material to this file, or mend the code",
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
    _check_changes(recipe)
    _check_bases(file, recipe.variants)


def _check_twice(file: str, name: str, codes: Iterable[str]) -> None:
    seen: dict[str, int] = {}
    for number, code in enumerate(codes, 1):
        first = seen.setdefault(code.casefold(), number)
        if first != number:
            raise BadValueError(
                f"{file}: {name}[{number}].code",
                f"{shown(code)} stands there already, in {name}[{first}]",
                "Choose another code; upper and lower case count as the same",
            )


def _uses(recipe: Recipe) -> Iterable[tuple[str, str, MaterialKind | None]]:
    """Give each place that names a material, the code, and the kind it must have."""
    for number, step in enumerate(recipe.steps, 1):
        if step.material is not None:
            yield f"step[{number}].material", step.material, None
    for number, variant in enumerate(recipe.variants, 1):
        yield f"variant[{number}].hook", variant.hook, MaterialKind.HOOK
        if variant.bead is not None:
            yield f"variant[{number}].bead", variant.bead, MaterialKind.BEAD
        for change in variant.changes:
            if change.material is not None:
                yield f"variant[{number}].change of step {change.step}", change.material, None


def _check_changes(recipe: Recipe) -> None:
    """Refuse changes of steps that are not there, of one step twice, and amounts without a unit."""
    for number, variant in enumerate(recipe.variants, 1):
        seen: set[int] = set()
        for change in variant.changes:
            key = f"{recipe.source}: variant[{number}].change"
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
                    key, f"leads in a circle: {circle}", "Base it on a variant that stands alone"
                )
            chain[base] = None
            base = bases[base]
        sound.update(chain)
