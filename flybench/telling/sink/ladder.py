"""The ladder: a table with intervals drawn beside it, ties, remarks and machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.shop.speeds.ladder import Ladder, Rung
from flybench.telling.numbers import percent, plus_minus
from flybench.telling.sink import one_water
from flybench.telling.table import aligned, paragraph, screen_width
from flybench.telling.wording import counted, listed

_NARROWEST, _WIDEST = 12, 60
"""Letters of a drawn interval's scale: fewer show nothing, more are hard to follow (judgement)."""
_MOST_GROUPS, _MOST_MEMBERS = 20, 40
"""Groups of flies that cannot be told apart that are named, and members of one [-]: more nobody reads (judgement)."""
_UNIT = " cm/s"


def lines(found: Ladder) -> list[str]:
    """Return the measured flies from slowest to fastest, and which of them cannot be told apart."""
    if not found.rungs:
        return []
    notes = one_water.notes(
        found.water,
        [rung.code for rung in found.rungs if rung.brought],
        [rung.code for rung in found.rungs if rung.mostly_water],
    )
    if any(rung.between_bands for rung in found.rungs):
        notes.append('A band with "?": the interval (k = 2) reaches into the next band.')
    if found.assumed:
        notes.append(
            "No fly of the shop has two runs to compare, so how much runs of a fly differ was assumed: "
            f"{percent(found.assumed, 1)}."
        )
    notes += _ties(found.ties)
    return [*_drawn(found.rungs), *map(paragraph, notes)]


def _ties(ties: Sequence[Sequence[str]]) -> list[str]:
    """Return which flies cannot be told apart; of long groups the ends, of many groups the first."""
    notes = [f"These cannot be told apart (k = 2): {_members(codes)}." for codes in ties[:_MOST_GROUPS]]
    if len(ties) > _MOST_GROUPS:
        more = len(ties) - _MOST_GROUPS
        notes.append(f"{counted(more, 'more such group')} not named. Ask for fewer flies, or take --json.")
    return notes


def _members(codes: Sequence[str]) -> str:
    if len(codes) <= _MOST_MEMBERS:
        return listed(list(codes))
    return f"{codes[0]} to {codes[-1]}, with the {len(codes) - 2} between them in the table"


def _drawn(rungs: Sequence[Rung]) -> list[str]:
    """Return a table, with each interval drawn at its right where the screen has room."""
    cells = [[rung.code, plus_minus(rung.speed, rung.uncertainty, 100), rung.shown_band] for rung in rungs]
    head, *table = aligned([["code", "cm/s", "band, cm/s"], *cells], [False, True, False])
    left = max(map(len, [head, *table]))
    room = screen_width() - left - 2 - len(_UNIT)
    if room < _NARROWEST:
        return [head, *table]
    width = min(room, _WIDEST)
    low = min(rung.speed - rung.expanded for rung in rungs)
    span = max(rung.speed + rung.expanded for rung in rungs) - low
    bars = [
        f"{line:<{left}}  {_bar(rung, low, span, width)}".rstrip()
        for line, rung in zip(table, rungs, strict=True)
    ]
    scale = f"{'':<{left}}  {low * 100:<{width - 6}.1f}{(low + span) * 100:>6.1f}{_UNIT}"
    return [head, *bars, scale]


def _bar(rung: Rung, low: float, span: float, width: int) -> str:
    """Return an interval drawn with its middle, on a scale of ``width`` letters."""

    def place(speed: float) -> int:
        return round((speed - low) / span * (width - 1))

    cells = [" "] * width
    first, last = place(rung.speed - rung.expanded), place(rung.speed + rung.expanded)
    cells[first : last + 1] = "-" * (last + 1 - first)
    cells[first], cells[last] = "|", "|"
    cells[place(rung.speed)] = "o"
    return "".join(cells)


def remarks(found: Ladder) -> list[str]:
    """Return what is not shown."""
    notes = []
    if found.all_retired:
        what = (
            "The one that was measured is retired, so it is"
            if found.all_retired == 1
            else f"All {found.all_retired} that were measured are retired, so they are"
        )
        notes.append(
            f"{what} left out. Bring one back with: flybench fly retire CODE --back, or flybench variant retire CODE --back"
        )
    elif not found.rungs:
        notes.append(
            "No measured fly was found. Film a fly falling and measure it: flybench bench measure CLIP --fly CODE"
        )
    if found.unmeasured:
        were, are = ("was", "is") if found.unmeasured == 1 else ("were", "are")
        notes.append(f"{found.unmeasured} more {were} found but {are} not measured yet, so not shown.")
    hidden = found.total - len(found.rungs)
    if found.rungs and hidden > 0:
        notes.append(
            f"{counted(hidden, 'faster one')} {'is' if hidden == 1 else 'are'} not shown. Raise --limit."
        )
    return notes


def record(found: Ladder) -> dict[str, Any]:
    """Return the same in machine form."""
    return {
        "rungs": [
            {
                "code": rung.code,
                "sink_speed_m_s": rung.speed,
                "standard_uncertainty_m_s": rung.uncertainty,
                "band_cm_s": rung.band,
                "between_bands": rung.between_bands,
                "brought_to_this_water": rung.brought,
                "mostly_by_that_step": rung.mostly_water,
            }
            for rung in found.rungs
        ],
        "ties": list(found.ties),
        "not_measured": found.unmeasured,
        "total": found.total,
        "water": one_water.record(found.water),
    }
