"""A price list in words and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.trade.money import Money
from flybench.jobs.trade.price_list import PriceList
from flybench.telling.wording import few

_MOST_NAMED = 8
"""Codes named in a sentence (judgement); a longer list says how many more there are."""


def remarks(found: PriceList) -> list[str]:
    """Return what is not on the list, and that no currency is set."""
    told = []
    if found.without_price:
        told.append(f"Not on the list, as they have no price: {few(found.without_price, _MOST_NAMED)}.")
    if not found.money.currency:
        told.append(
            "No currency is set, so none is on the list. Set it with: flybench catalog money --currency EUR"
        )
    return told


def not_converted(before: Money, after: Money) -> list[str]:
    """Return that no price was converted, where one currency took another's place; no line where none did."""
    if not before.currency or not after.currency or before.currency == after.currency:
        return []
    return [f"No price was converted: what was typed in {before.currency} now stands as {after.currency}."]


def record(found: PriceList) -> dict[str, Any]:
    """Return the machine form: SI units, prices as texts, speeds as the ends that are told."""
    return {
        "currency": found.money.currency,
        "tax_percent": None if found.money.tax_percent is None else str(found.money.tax_percent),
        "water_k": None if found.water.water is None else found.water.water.temperature,
        "salinity_kg_kg": None if found.water.water is None else found.water.water.salinity,
        "lines": [
            {
                "code": line.code,
                "name": line.name,
                "hook": line.hook,
                "bead_m": line.bead_m,
                "metal": line.metal,
                "sink_from_m_s": None if line.speed is None else float(line.speed[0]) / 100,
                "sink_to_m_s": None if line.speed is None else float(line.speed[1]) / 100,
                "price": str(line.price),
            }
            for line in found.lines
        ],
        "without_price": list(found.without_price),
    }
