"""Numbers for flies that are added without a code: each one once, also when a fly was removed."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.store.settings import keep_setting, setting
from flybench.catalog.tables.flies import Fly

_KEY = "last-fly-number"
"""Setting that holds the last number that was given."""
_LONGEST = 9
"""Digits of a code that is taken for a number (judgement: more is a date or a code from elsewhere)."""


def next_number(session: Session) -> str:
    """Return the number behind the last one that was given and behind all codes that are numbers; it is given now."""
    codes = [code for code in session.scalars(select(Fly.code)) if code.isascii() and code.isdigit()]
    taken = [int(code) for code in codes if len(code) <= _LONGEST]
    number = str(max([int(setting(session, _KEY) or 0), *taken]) + 1)
    keep_setting(session, _KEY, number)
    return number
