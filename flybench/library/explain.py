"""What a flag means and what to do about it."""

from __future__ import annotations

from flybench.library.result import Result
from flybench.telling import flags as telling


def flags(*names: str) -> Result:
    """Explain the named flags, or all of them; raises FlybenchError for a name that is no flag."""
    rows = [
        {
            "flag": name,
            "weight": telling.FLAGS[name].weight.value,
            "meaning": telling.FLAGS[name].meaning,
            "cure": telling.FLAGS[name].cure,
        }
        for name in names or telling.FLAGS
    ]
    return Result(rows, telling.lines(names), f"<flags: {len(rows)}>")
