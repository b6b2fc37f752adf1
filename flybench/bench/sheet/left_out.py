"""Drops that the user leaves out, each with why: read from the sheet, and looked up by number."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flybench.errors import BadValueError

KEY = "drops.without"
LONGEST_REASON = 80
"""Most letters of a reason [-]: a line of the terminal, and of the page (judgement)."""
_EXAMPLE = 'Write for example without = [[1, "hit the wall"]], with the number of the drop as flybench bench measure lists it'


def left_out(flat: Mapping[str, Any]) -> dict[int, str]:
    """Return why each drop is left out, by its number from 1; raises BadValueError where that cannot be read."""
    given = flat.get(KEY, [])
    if not isinstance(given, list):
        raise BadValueError(KEY, f"{given!r} is not a list of drops", _EXAMPLE)
    found: dict[int, str] = {}
    for entry in given:
        number, why = _entry(entry)
        if number in found:
            raise BadValueError(KEY, f"names drop {number} twice", "Keep one of the two reasons")
        found[number] = why
    return found


def _entry(entry: Any) -> tuple[int, str]:
    if not isinstance(entry, (list, tuple)) or len(entry) != 2:
        raise BadValueError(KEY, f"{entry!r} is not a drop and a reason", _EXAMPLE)
    number, why = entry
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        raise BadValueError(KEY, f"{number!r} is not the number of a drop", _EXAMPLE)
    if not isinstance(why, str) or not why.strip():
        raise BadValueError(KEY, f"says nothing about why drop {number} does not count", _EXAMPLE)
    if len(why) > LONGEST_REASON or not why.isprintable():
        problem = f"gives a reason for drop {number} that is not one line of at most {LONGEST_REASON} letters"
        raise BadValueError(KEY, problem, _EXAMPLE)
    return number, why.strip()


def check_numbers(without: Mapping[int, str], seen: int) -> None:
    """Raise BadValueError where a drop is left out that was not seen; ``seen`` is how many were."""
    wrong = [number for number in without if number > seen]
    if wrong:
        were = "1 drop was" if seen == 1 else f"{seen} drops were"
        raise BadValueError(
            KEY,
            f"leaves out drop {wrong[0]}, and {were} seen",
            "Measure without it first, and take the number from the list of drops",
        )
