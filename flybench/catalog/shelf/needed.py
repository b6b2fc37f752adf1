"""What a variant is made of: its hook and bead, and the pattern's steps with the variant's changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from flybench.catalog.search.select import loaded
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import Pattern, Step, Variant, VariantChange
from flybench.catalog.tables.vocabulary import Part, Unit


@dataclass(frozen=True)
class Needed:
    """One material that a fly takes; the amount is None where the recipe does not say."""

    part: Part
    material: Material
    amount: float | None
    unit: Unit | None


def flies_with_recipes(session: Session, codes: Sequence[str]) -> list[Fly]:
    """Return flies by their codes, with all that their weights and builds rest on: read at once and not fly by fly."""
    variant = selectinload(Fly.variant)
    steps = variant.selectinload(Variant.pattern).selectinload(Pattern.steps)
    wanted = select(Fly).order_by(Fly.code)
    recipes = wanted.options(
        steps.joinedload(Step.material),
        variant.selectinload(Variant.changes).joinedload(VariantChange.material),
        variant.selectinload(Variant.hook).options(joinedload(Hook.material)),
        variant.selectinload(Variant.bead).options(joinedload(Bead.material)),
    )
    flies = list(loaded(session, recipes, Fly.code, codes))
    unweighed = [fly.code for fly in flies if fly.mass_kg is None and fly.mass_in_water_kg is None]
    list(
        loaded(session, wanted.options(selectinload(Fly.runs)), Fly.code, unweighed)
    )  # for weights in their sheets
    return flies


def needed_for(variant: Variant) -> list[Needed]:
    """Return what one fly of a variant takes, in the order of tying.

    Changes of the variants it is based on hold too; its own go before theirs. An amount of 0 leaves a step out.
    """
    needed = [Needed(Part.HOOK, variant.hook.material, 1.0, Unit.PIECE)]
    if variant.bead is not None:
        needed.append(Needed(Part.BEAD, variant.bead.material, 1.0, Unit.PIECE))
    changes = changes_of(variant)
    for step in variant.pattern.steps:
        change = changes.get(step.position)
        amount = step.amount if change is None or change.amount is None else change.amount
        material = step.material if change is None or change.material is None else change.material
        if material is not None and amount != 0:
            needed.append(Needed(step.part, material, amount, step.unit))
    return needed


def changes_of(variant: Variant) -> dict[int, VariantChange]:
    """Return what a variant changes by step, itself or by what it is based on; its own go before theirs."""
    chain, base = [variant], variant.based_on
    while base is not None and base not in chain:
        chain.append(base)
        base = base.based_on
    return {change.position: change for link in reversed(chain) for change in link.changes}
