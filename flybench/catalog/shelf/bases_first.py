"""The order in which things are added of which some are based on others: each after the one that it is based on."""

from __future__ import annotations

from collections.abc import Sequence


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
