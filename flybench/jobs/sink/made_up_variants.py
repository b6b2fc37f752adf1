"""Variants made up for a question, which are never saved."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.tables.materials import Bead, Hook
from flybench.catalog.tables.patterns import Pattern, Variant, VariantChange
from flybench.errors import BadValueError

_MOST_AMOUNT = 1e6
"""Amounts from here on, in whatever unit, are a slip of the hand (judgement)."""


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
            "--hook", "none was named", "Name one: --hook CODE, see flybench material list kind:hook"
        )
    found = get(session, NOUNS["material"], code).hook
    if found is None:
        raise BadValueError(
            "--hook", f"{code} is not a hook", "See the hooks: flybench material list kind:hook"
        )
    return found  # type: ignore[no-any-return]


def _bead_of(session: Session, code: str) -> Bead | None:
    if code == "none":
        return None
    found = get(session, NOUNS["material"], code).bead
    if found is None:
        raise BadValueError(
            "--bead", f"{code} is not a bead", "See the beads: flybench material list kind:bead"
        )
    return found  # type: ignore[no-any-return]


def _check_steps(recipe: Pattern, changes: Mapping[int, float]) -> None:
    steps = {step.position: step for step in recipe.steps}
    for number, amount in changes.items():
        if number not in steps or steps[number].unit is None:
            known = ", ".join(str(one) for one, step in steps.items() if step.unit is not None) or "none"
            raise BadValueError(
                "--step",
                f"{recipe.code} has no step {number} with an amount",
                f"Its steps with an amount: {known}; see flybench pattern show {recipe.code}",
            )
        if not 0 <= amount < _MOST_AMOUNT:
            problem = f"{amount:g} is not an amount for step {number}"
            raise BadValueError("--step", problem, f"Give zero or more, and less than {_MOST_AMOUNT:g}.")
