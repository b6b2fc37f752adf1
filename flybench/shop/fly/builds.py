"""Variants of the catalog as builds, and variants made up for a question, which are never saved."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.catalog.shelf.needed import changes_of, needed_for
from flybench.catalog.tables.materials import Hook
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.vocabulary import MaterialKind, Part, Unit
from flybench.shop.fly.solids import usual_size
from flybench.sinking.drag.tied_fly import Build, usual_dressing
from flybench.sinking.weight.hook_and_ballast import usual_hook

_STANDS_OFF = (Part.HACKLE, Part.COLLAR, Part.WING)
"""Steps whose feathers, counted in pieces, stand off the hook (judgement)."""
_WOUND = (*_STANDS_OFF, Part.TAIL)
"""Steps whose turns count as turns of hackle (judgement)."""
_LOOSE = (*_WOUND, Part.BODY)
"""Steps whose mass counts as loose dressing (judgement)."""
_SOFT = (MaterialKind.HACKLE, MaterialKind.WING, MaterialKind.TAIL, MaterialKind.BODY, None)
"""Kinds of material that stand off; thread, wire, tinsel, resin lie close, whatever step they are in (judgement)."""
_MASSES = {Unit.GRAM: 1e-3, Unit.MILLIGRAM: 1e-6}
"""Units of mass [kg], exact by definition."""
_FEATHER_TURNS = 1.0
"""Turns of hackle that a piece of feather counts for [-] (common practice, no source)."""


def build_of(variant: Variant) -> Build:
    """Return what a variant is tied from, as far as its drag goes.

    Where the recipe says nothing of the dressing, or of the hook's sizes, the usual ones stand in and are named.
    """
    done = _done(variant)
    assumed: list[str] = []
    gape, shank = _hook(variant.hook, assumed)
    turns, loose = _dressing(done)
    if _silent(variant.pattern, done):
        turns, loose = usual_dressing(variant.pattern.style.value, gape)
        assumed.append("dressing")
    return Build(
        variant.code,
        variant.pattern.code,
        variant.pattern.style.value,
        None if variant.bead is None else variant.bead.diameter_m,
        gape,
        shank,
        turns,
        loose,
        any(one.part is Part.COATING for one in done),
        tuple(assumed),
    )


@dataclass(frozen=True)
class _Done:
    """One step as a variant does it; kind None where the recipe names no material."""

    part: Part
    kind: MaterialKind | None
    amount: float | None
    unit: Unit | None


def _done(variant: Variant) -> list[_Done]:
    """Return what is done to one fly, steps whose material the recipe does not name too."""
    named = [_Done(need.part, need.material.kind, need.amount, need.unit) for need in needed_for(variant)]
    changes = changes_of(variant)
    unnamed = []
    for step in variant.pattern.steps:
        change = changes.get(step.position)
        amount = step.amount if change is None or change.amount is None else change.amount
        if step.material is None and (change is None or change.material is None) and amount != 0:
            unnamed.append(_Done(step.part, None, amount, step.unit))
    return named + unnamed


def _hook(hook: Hook, assumed: list[str]) -> tuple[float, float]:
    usual = usual_hook(usual_size(hook))
    if hook.gape_m is None:
        assumed.append("hook gape")
    if hook.shank_m is None:
        assumed.append("hook shank")
    return hook.gape_m or usual.gape.value, hook.shank_m or usual.shank.value


def _dressing(done: list[_Done]) -> tuple[float, float]:
    """Return turns of hackle, and mass of loose dressing [kg]."""
    turns = loose = 0.0
    for one in done:
        amount = one.amount or 0.0
        if one.kind not in _SOFT:
            continue
        if one.part in _WOUND and one.unit is Unit.TURN:
            turns += amount
        elif one.part in _STANDS_OFF and one.unit is Unit.PIECE:
            turns += amount * _FEATHER_TURNS
        elif one.part in _LOOSE and one.unit in _MASSES:
            loose += amount * _MASSES[one.unit]
    return turns, loose


def _silent(pattern: Pattern, done: list[_Done]) -> bool:
    """Tell whether a recipe says nothing of dressing: no step of it, or a soft one done without an amount."""
    dressed = any(step.part in (*_LOOSE, Part.RIB, Part.COATING) for step in pattern.steps)
    return not dressed or any(one.part in _LOOSE and one.kind in _SOFT and one.amount is None for one in done)
