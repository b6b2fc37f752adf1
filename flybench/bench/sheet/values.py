"""The values of a bench sheet: each key read with its unit, its limits and its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from flybench.bench.sheet.keys import OTHERS, QUANTITIES
from flybench.bench.sheet.settings import (
    TYPED_UNCERTAINTY,
    Length,
)
from flybench.errors import BadValueError
from flybench.quantity import COVERAGE_FACTOR, in_unit_of, parse_inside_with_uncertainty

MOST_WARMTH_DOUBT = 5.0
"""Largest standard uncertainty of a temperature that is taken [K]: +-10 K, k = 2, is the whole way from a cold tap to a warm
room (judgement)."""
_MAY_BE_NOTHING = ("scale.gap",)
"""Keys whose value may be smaller than its own uncertainty: the gap from two points to the fly can be nothing at all."""

Tables = Mapping[str, Mapping[str, Any]]
"""The tables of a sheet as a TOML reader gives them."""


def flattened(tables: Tables) -> dict[str, Any]:
    """Return "table.key" -> value as typed. Raises BadValueError for what no sheet has."""
    known = [*QUANTITIES, *OTHERS]
    flat: dict[str, Any] = {}
    for table, keys in tables.items():
        if not isinstance(keys, Mapping):
            raise BadValueError(
                table,
                "stands outside any table",
                "Write it under [water], [tank], [camera], [scale] or [fly]",
            )
        for key, value in keys.items():
            name = f"{table}.{key}"
            if name not in known:
                raise BadValueError(name, "is not a key of the bench sheet", _nearest(name, known))
            flat[name] = value
    return flat


def _nearest(name: str, known: list[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name, known, n=1)
    table = name.split(".", 1)[0]
    inside = [key for key in known if key.startswith(table + ".")]
    return f"Did you mean {close[0]}?" if close else f"Known keys: {', '.join(inside or known)}"


def missing(key: str, why: str) -> BadValueError:
    """Return the error for a key that is needed; ``why`` says what for."""
    table, name = key.split(".")
    return BadValueError(
        key,
        f"is missing; {why}",
        f'Write for example {name} = "{QUANTITIES[key].example}" under [{table}] in the sheet, or give it as an option',
    )


def quantity_of(
    flat: Mapping[str, Any], name: str, *, spread: bool = True
) -> tuple[float, float | None] | None:
    """Return the key's SI value and standard uncertainty, or None where it is absent.

    Without ``spread`` an uncertainty is refused, as nothing would be done with it.
    """
    if name not in flat:
        return None
    key = QUANTITIES[name]
    if not isinstance(flat[name], str):
        raise BadValueError(
            name, f"{flat[name]!r} has no unit", f'Write it with its unit, for example "{key.example}"'
        )
    cure = f'Give the {key.meaning}, for example "{key.example}"'
    found = parse_inside_with_uncertainty(
        flat[name], key.unit, name, key.low, key.high, _plain(cure), example=key.example, spread=spread
    )
    if name not in _MAY_BE_NOTHING:
        refuse_wide(name, flat[name], found)
    return found


def refuse_wide(name: str, text: str, found: tuple[float, float | None]) -> None:
    """Raise BadValueError where an uncertainty is larger than what it belongs to: a slip of digits or of the unit.

    ``found`` is the value and its standard uncertainty [SI]; a value of exactly nothing may have any.
    """
    value, standard = found
    warm = QUANTITIES[name].unit == "K"
    most = MOST_WARMTH_DOUBT * COVERAGE_FACTOR if warm else abs(value) or math.inf
    if standard is None or COVERAGE_FACTOR * standard <= most:
        return
    limit = f"more than +- {most:g} K" if warm else "larger than the value itself"
    raise BadValueError(
        name,
        f'"{text}" has an uncertainty {limit}',
        "Check the number and the unit after the +-; what stands there is how far off the value may be",
    )


def _plain(cure: str) -> str:
    """Return a cure without an article before "what"."""
    return cure.replace("Give the what", "Give what")


def value_of(flat: Mapping[str, Any], name: str) -> float | None:
    """Return a key's value in the SI unit of ``QUANTITIES``, None where it is absent; raises as ``quantity_of``."""
    found = quantity_of(flat, name, spread=False)
    return None if found is None else found[0]


def length_of(flat: Mapping[str, Any], name: str, default: float = TYPED_UNCERTAINTY) -> Length | None:
    """Return a length [m] with its standard uncertainty, ``default`` where none was typed; None where it is absent."""
    found = quantity_of(flat, name)
    return None if found is None else Length(found[0], default if found[1] is None else found[1])


def weighed(flat: Mapping[str, Any], name: str, relative: float) -> tuple[float, float] | None:
    """Return a mass or volume with its standard uncertainty [kg or m3], the share ``relative`` [-] of it where none was
    typed; None where it is absent. Raises as ``quantity_of``."""
    found = quantity_of(flat, name)
    return None if found is None else (found[0], relative * found[0] if found[1] is None else found[1])


def as_typed(flat: Mapping[str, Any], name: str) -> str:
    """Return a distance as the user typed it, without its uncertainty."""
    value = quantity_of(flat, name)
    assert value is not None
    return in_unit_of(value[0], flat[name], "m")
