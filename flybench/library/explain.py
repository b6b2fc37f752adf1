"""What a flag means and what to do about it."""

from __future__ import annotations

from flybench.library.result import Result
from flybench.telling.flags import FLAGS, flags_lines


def flags(*names: str) -> Result:
    """Explain the named flags, or all of them; raises FlybenchError for a name that is no flag."""
    lines = flags_lines(names)
    rows = [
        {
            "flag": name,
            "weight": FLAGS[name].weight.value,
            "meaning": FLAGS[name].meaning,
            "cure": FLAGS[name].cure,
        }
        for name in names or FLAGS
    ]
    return Result(rows, lines, f"<flags: {len(rows)}>")
