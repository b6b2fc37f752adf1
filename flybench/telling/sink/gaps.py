"""The gaps of a box: sentences, remarks and machine form."""

from __future__ import annotations

from typing import Any

from flybench.shop.next_fly.gaps import BoxFly, Filler, Gap, Gaps
from flybench.telling.numbers import percent
from flybench.telling.sink import learning
from flybench.telling.table import paragraph
from flybench.telling.wording import counted, listed


def lines(found: Gaps) -> list[str]:
    """Return the box, its gaps with what would fill each, and what the predictions rest on."""
    slow, fast = found.box[0], found.box[-1]
    box = f"The box holds {counted(len(found.box), 'variant')}, from {_fly(slow)} to {_fly(fast)}."
    text = [paragraph(box)]
    if not found.gaps:
        text.append(
            paragraph(
                f"It has no gap: no fly is more than {found.wider_than:g} times as fast as the next slower one."
            )
        )
    for gap in found.gaps:
        text += _gap_lines(gap)
    water = learning.water_line(found.prediction.water, found.prediction.water_from)
    return [*text, "", *map(paragraph, [water, *learning.lines(found.prediction.learned)])]


def _fly(one: BoxFly) -> str:
    return f"{one.code} at {one.speed * 100:.3g} cm/s" + (" (predicted)" if one.predicted else "")


def _gap_lines(gap: Gap) -> list[str]:
    head = paragraph(f"There is nothing between {_fly(gap.below)} and {_fly(gap.above)}.")
    if not gap.fillers:
        return ["", head, paragraph("No other fly of the catalog falls in there more often than not.", "  ")]
    return ["", head, *(paragraph(_filler(one), "  ", "    ") for one in gap.fillers)]


def _filler(one: Filler) -> str:
    low, high = (end * 100 for end in one.forecast.interval)
    text = (
        f"Tie {one.code} on {one.bead or 'no bead'}: predicted {one.forecast.speed * 100:.0f} cm/s, 95 of 100 flies "
        f"{low:.0f} to {high:.0f}; {percent(one.odds)} of them fall into the gap. {_cost(one)}"
    )
    if one.lacking:
        text += f" Not in stock: {listed(one.lacking)}."
    return text + (f" Outside what was measured: {'; '.join(one.outside)}." if one.outside else "")


def _cost(one: Filler) -> str:
    if one.cost is None:
        return "What its materials cost is not known."
    without = f" and that of {listed(one.unpriced)}, which has no price" if one.unpriced else ""
    return f"Its materials cost {one.cost:.2f}{without}."


def remarks(found: Gaps) -> list[str]:
    """Return what was not looked at."""
    if found.stock_kept:
        return []
    return [
        "No stock of materials is kept, so it is not known whether they are at hand. To keep it: flybench stock in CODE "
        "AMOUNT --material"
    ]


def record(found: Gaps) -> dict[str, Any]:
    """Return the same in machine form."""
    return {
        "box": [_fly_record(one) for one in found.box],
        "gaps": [
            {
                "below": _fly_record(gap.below),
                "above": _fly_record(gap.above),
                "fillers": [_filler_record(one) for one in gap.fillers],
            }
            for gap in found.gaps
        ],
        "tried": found.tried,
        "stock_kept": found.stock_kept,
        "learned_from": learning.record(found.prediction.learned),
    }


def _fly_record(one: BoxFly) -> dict[str, Any]:
    return {
        "code": one.code,
        "sink_speed_m_s": one.speed,
        "standard_uncertainty_m_s": one.uncertainty,
        "predicted": one.predicted,
    }


def _filler_record(one: Filler) -> dict[str, Any]:
    return {
        "code": one.code,
        "bead": one.bead,
        "sink_speed_m_s": one.forecast.speed,
        "interval_m_s": list(one.forecast.interval),
        "odds": one.odds,
        "cost": one.cost,
        "unpriced": one.unpriced,
        "lacking": one.lacking,
        "outside": one.outside,
    }
