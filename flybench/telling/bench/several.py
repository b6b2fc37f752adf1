"""Several clips measured one after the other: one table at the end, and the machine form of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult
from flybench.flag import Weight
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded
from flybench.telling.bench.measurement import record as record_of
from flybench.telling.table import fitted
from flybench.telling.wording import counted

_HEADS = ("clip", "verdict", "cm/s", "± (k = 2)", "drops", "first flag")
_TO_RIGHT = (False, False, True, True, True, False)
_NONE = "-"


@dataclass(frozen=True)
class Outcome:
    """What came of one clip: its result, or why it could not be measured."""

    clip: str
    result: BenchResult | None
    message: str = ""

    @property
    def speed_given(self) -> bool:
        """Tell whether the clip gave a sink speed."""
        return self.result is not None and self.result.verdict != "refused"


def lines(outcomes: Sequence[Outcome]) -> list[str]:
    """Return the table, and how many clips gave a speed."""
    rows = [_HEADS, *map(_row, outcomes)]
    given = sum(one.speed_given for one in outcomes)
    told = f"{given} of {counted(len(outcomes), 'clip')} gave a sink speed, each in its tank as it was."
    return [*fitted(rows, _TO_RIGHT, shorten=0), "", told]


def record(outcomes: Sequence[Outcome]) -> list[dict[str, Any]]:
    """Return the machine form of each clip in order; of one that could not be measured, its name and the reason."""
    return [
        {"clip": {"name": one.clip}, "error": one.message} if one.result is None else record_of(one.result)
        for one in outcomes
    ]


def _row(one: Outcome) -> tuple[str, ...]:
    result = one.result
    if result is None:
        return (one.clip, "not measured", _NONE, _NONE, _NONE, _NONE)
    used, seen = len(result.used_drops), len(result.drops)
    drops = str(used) if used == seen else f"{used} of {seen}"
    speed, spread = _NONE, _NONE
    if result.sink_speed is not None and result.standard_uncertainty is not None:
        speed, spread = rounded(100 * result.sink_speed, 100 * COVERAGE_FACTOR * result.standard_uncertainty)
    return (one.clip, result.verdict, speed, spread, drops, first_flag(result))


def first_flag(result: BenchResult) -> str:
    """Return the flag that matters first: one that refuses where the clip was refused, else the first that was raised."""
    if not result.drops:
        return "no drop"
    flags = result.all_flags
    refusing = [flag for flag in flags if FLAGS[flag].weight is Weight.REFUSAL]
    first = refusing if result.verdict == "refused" else flags
    return next(iter([*first, *flags]), "none")
