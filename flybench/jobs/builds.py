"""Variants of the catalog as builds, and variants made up for a question, which are never saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from flybench.catalog.materials import Bead, Hook
from flybench.catalog.nouns import NOUNS
from flybench.catalog.patterns import Pattern, Variant, VariantChange
from flybench.catalog.recipe_of import needed_for
from flybench.catalog.shelf import get
from flybench.catalog.words import MaterialKind, Part, Unit
from flybench.errors import BadValueError
from flybench.jobs.parts_of import usual_size
from flybench.sinking.dressings import usual_dressing
from flybench.sinking.hook import typical_hook
from flybench.sinking.records import Build

_STANDS_OFF = (Part.HACKLE, Part.COLLAR, Part.WING)
_WOUND = (*_STANDS_OFF, Part.TAIL)
_LOOSE = (*_WOUND, Part.BODY)
_SOFT = (MaterialKind.HACKLE, MaterialKind.WING, MaterialKind.TAIL, MaterialKind.BODY, None)
"""Kinds of material that stand off; thread, wire, tinsel, resin lie close, whatever step they are in (judgement)."""
_MASSES = {Unit.GRAM: 1e-3, Unit.MILLIGRAM: 1e-6}
_FEATHER_TURNS = 1.0
"""A piece of feather counts as one turn (common practice, no source)."""


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
    changes = _changes(variant)
    unnamed = []
    for step in variant.pattern.steps:
        change = changes.get(step.position)
        amount = step.amount if change is None or change.amount is None else change.amount
        if step.material is None and (change is None or change.material is None) and amount != 0:
            unnamed.append(_Done(step.part, None, amount, step.unit))
    return named + unnamed


def _changes(variant: Variant) -> dict[int, VariantChange]:
    """Return what a variant changes, itself or by what it is based on; its own go before theirs."""
    found: dict[int, VariantChange] = {}
    seen: list[Variant] = []
    link: Variant | None = variant
    while link is not None and link not in seen:
        found = {change.position: change for change in link.changes} | found
        seen.append(link)
        link = link.based_on
    return found


def _hook(hook: Hook, assumed: list[str]) -> tuple[float, float]:
    usual = typical_hook(usual_size(hook))
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
    told = any(step.part in (*_LOOSE, Part.RIB, Part.COATING) for step in pattern.steps)
    return not told or any(one.part in _LOOSE and one.kind in _SOFT and one.amount is None for one in done)


def variant_like(
    session: Session,
    *,
    pattern: str | None = None,
    variant: str | None = None,
    hook: str | None = None,
    bead: str | None = None,
    changes: Mapping[int, float] | None = None,
) -> Variant:
    """Return a variant made up for a question: of a pattern, or like another variant with some things changed.

    It never joins the session: nothing of it is written. ``bead`` "none" takes the bead off; changes, amount by
    number of the step, 0 to leave it out.
    Raises BadValueError for unknown codes, a missing hook, or a step that is not there or has no amount.
    """
    with session.no_autoflush:
        base: Variant | None = None if variant is None else get(session, NOUNS["variant"], variant)
        recipe: Pattern = base.pattern if base is not None else get(session, NOUNS["pattern"], pattern or "")
        hooked = base.hook if hook is None and base is not None else _hook_of(session, hook)
        beaded = _bead_of(session, bead) if bead is not None else (None if base is None else base.bead)
        _check_steps(recipe, changes or {})
        return _made_up(recipe, hooked, beaded, base, changes or {})


def _made_up(
    recipe: Pattern, hook: Hook, bead: Bead | None, base: Variant | None, changes: Mapping[int, float]
) -> Variant:
    tried = "no-bead" if bead is None else bead.material.code
    changed = "".join(f" {step}={amount:g}" for step, amount in sorted(changes.items()))
    made = Variant(code=f"{recipe.code} {hook.material.code} {tried}{changed}")
    for name, value in (("pattern", recipe), ("hook", hook), ("bead", bead), ("based_on", base)):
        _set_quietly(made, name, value)
    made.changes = [VariantChange(position=step, amount=amount) for step, amount in changes.items()]
    return made


def _set_quietly(made: Variant, name: str, value: object) -> None:
    """Set what a made-up variant refers to without the other side taking note, which would add it to the session."""
    from sqlalchemy.orm.attributes import set_committed_value

    set_committed_value(made, name, value)


def _hook_of(session: Session, code: str | None) -> Hook:
    if code is None:
        raise BadValueError(
            "hook", "none was named", "Name one: --hook CODE, see flybench material list kind:hook"
        )
    found = get(session, NOUNS["material"], code).hook
    if found is None:
        raise BadValueError(
            "hook", f"{code} is not a hook", "See the hooks: flybench material list kind:hook"
        )
    return found  # type: ignore[no-any-return]


def _bead_of(session: Session, code: str) -> Bead | None:
    if code == "none":
        return None
    found = get(session, NOUNS["material"], code).bead
    if found is None:
        raise BadValueError(
            "bead", f"{code} is not a bead", "See the beads: flybench material list kind:bead"
        )
    return found  # type: ignore[no-any-return]


def _check_steps(recipe: Pattern, changes: Mapping[int, float]) -> None:
    steps = {step.position: step for step in recipe.steps}
    for number, amount in changes.items():
        if number not in steps or steps[number].unit is None:
            known = ", ".join(str(one) for one, step in steps.items() if step.unit is not None) or "none"
            raise BadValueError(
                "step",
                f"{recipe.code} has no step {number} with an amount",
                f"Steps with one: {known}; see flybench pattern show {recipe.code}",
            )
        if not 0 <= amount < 1e6:
            raise BadValueError("step", f"{amount:g} is no amount for step {number}", "Give zero or more.")
