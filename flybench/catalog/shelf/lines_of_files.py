"""Lines of a spreadsheet as the rows that they make: what each sets, and in which order they go in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flybench.catalog.search.fields import Noun


def adding_order(noun: Noun, values: Mapping[tuple[str, bool], list[Any]], count: int) -> list[int]:
    """Return the places of the lines in the order in which they are added."""
    bases = next(
        (values.get((one.name, False)) for one in noun.fields.values() if one.target == noun.name), None
    )
    return list(range(count)) if bases is None else bases_first(values["code", False], bases)


def row_at(noun: Noun, values: Mapping[tuple[str, bool], list[Any]], place: int) -> dict[str, Any]:
    """Return what one line sets; empty cells leave the default."""
    row: dict[str, Any] = {}
    for (name, spread), column in values.items():
        value = column[place]
        if spread or value is None:
            continue
        if noun.fields[name].kind == "quantity":
            doubt = values.get((name, True))
            row[name] = (value, doubt[place] if doubt else None)
        else:
            row[name] = value
    return row


def bases_first(codes: Sequence[str], bases: Sequence[str | None]) -> list[int]:
    """Return the places of things, each behind that of its base where the base is among them; a circle is left as it is.

    >>> bases_first(["a", "b", "c"], ["B", None, "a"])
    [1, 0, 2]
    """
    place_of = {code.casefold(): place for place, code in enumerate(codes)}
    order: dict[int, None] = {}
    for place in range(len(codes)):
        chain: list[int] = []
        at: int | None = place
        while at is not None and at not in order and at not in chain:
            chain.append(at)
            base = bases[at]
            at = None if base is None else place_of.get(base.casefold())
        order.update(dict.fromkeys(reversed(chain)))
    return list(order)
