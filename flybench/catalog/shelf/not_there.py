"""A code that is not there: what else has it, which codes are near, and where to look."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from sqlalchemy import literal, select
from sqlalchemy.orm import Session

from flybench.catalog.search.fields import Noun
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.dialect import folded
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError

CODED = ("material", "pattern", "variant", "fly")
"""The kinds of things that have a code."""
_MOST_NEAR = 2000
"""Codes that are looked through for one that is near (judgement)."""
MOST_NAMED = 5
"""Codes named in one message; the rest is counted, or stands behind dots (judgement)."""


def not_there(session: Session, noun: Noun, code: str, key: str = "") -> BadValueError:
    """Return the error of a code that no thing of this kind has; ``key`` names where it was given."""
    model = noun.model
    close = get_close_matches(code, _beginning_alike(session, model, code), n=1)
    other = _of_another_kind(session, noun, code)
    if other is not None:
        return BadValueError(key or noun.name, f'there is no "{code}"; it is a {other[0]}', other[1])
    return BadValueError(key or noun.name, f'there is no "{code}"', _what_to_do(noun, code, close))


def nowhere(session: Session, code: str) -> BadValueError:
    """Return the error of a code that no thing of any kind has, with the nearest of all codes."""
    near: list[str] = []
    for name in CODED:
        near += _beginning_alike(session, NOUNS[name].model, code)
    close = get_close_matches(code, near, n=1)
    cure = f"Did you mean {close[0]}?" if close else "See what was changed: flybench catalog log"
    return BadValueError("CODE", f'nothing has, or had, the code "{code}"', cure)


def _beginning_alike(session: Session, model: Any, code: str) -> list[str]:
    begins = folded(model.code).like(folded(literal(code[:1])).concat("%"))
    return list(session.scalars(select(model.code).where(begins).limit(_MOST_NEAR)))


def _what_to_do(noun: Noun, code: str, close: Sequence[str]) -> str:
    """Return the nearest code, or where to look; a fly that is not there may simply not have been added yet."""
    add = (
        f"add it with: flybench fly add {code} --variant CODE" if noun.name == "fly" and code.strip() else ""
    )
    if close:
        return f"Did you mean {close[0]}?" + (f" If it is a new one, {add}" if add else "")
    look = f"See what there is: flybench {noun.name} list"
    return f"{look}, or {add}" if add else look


def _row(session: Session, noun: Noun, code: str) -> Any:
    """Return the row of a code, whatever its case, or None."""
    return session.scalars(select(noun.model).where(folded(noun.model.code) == folded(literal(code)))).first()


def _of_another_kind(session: Session, noun: Noun, code: str) -> tuple[str, str] | None:
    """Return which other kind of thing has a code, and what to name in its place; None where none has it."""
    for name in CODED:
        row = None if name == noun.name else _row(session, NOUNS[name], code.strip())
        if row is None:
            continue
        owners = {("pattern", "variant"): Variant.pattern_id, ("variant", "fly"): Fly.variant_id}
        owner = owners.get((name, noun.name))
        codes = [] if owner is None else _codes_of(session, noun, owner == row.id)
        if codes:
            return name, f"Name one of its {noun.plural}: {', '.join(codes)}"
        return name, f"See what there is: flybench {noun.name} list"
    return None


def _codes_of(session: Session, noun: Noun, condition: Any) -> list[str]:
    """Return the first few codes of rows, with dots behind them where there are more."""
    found = select(noun.model.code).where(condition).order_by(noun.model.code).limit(MOST_NAMED + 1)
    codes = list(session.scalars(found))
    return codes if len(codes) <= MOST_NAMED else [*codes[:MOST_NAMED], "..."]
