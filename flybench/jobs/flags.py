"""Explain flags."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from difflib import get_close_matches

from flybench.bench.checks import FLAGS, Weight
from flybench.errors import FlybenchError

WEIGHTS = {
    Weight.NOTE: "a note: the result stands",
    Weight.DOUBT: "a doubt: the result is usable at best",
    Weight.REFUSAL: "a refusal: the drop does not count",
}


def explained(names: Sequence[str]) -> list[str]:
    """Return meaning and cure of the named flags, or of all.

    Raises FlybenchError for a name that is no flag.
    """
    for name in names:
        if name not in FLAGS:
            close = get_close_matches(name, FLAGS, n=1)
            hint = f"Did you mean {close[0]}?" if close else "Run flybench bench flags for all of them."
            raise FlybenchError(f"{name}: is not a flag. {hint}")
    lines = []
    for name in names or FLAGS:
        flag = FLAGS[name]
        lines.append(f"{name} ({WEIGHTS[flag.weight]})")
        lines += textwrap.wrap(f"{flag.meaning} {flag.cure}", 76, initial_indent="  ", subsequent_indent="  ")
    return lines


def flags_page() -> str:
    """Return docs/flags.md."""
    rows = [f"| `{name}` | {flag.weight} | {flag.meaning} | {flag.cure} |" for name, flag in FLAGS.items()]
    weights = "\n".join(f"- **{weight}**: {text.split(': ')[1]}." for weight, text in WEIGHTS.items())
    head = "| flag | weight | what it means | what to do |\n|---|---|---|---|"
    return (
        f"# Flags\n\nMade from the program by `python docs/make.py`.\n\n{weights}\n\n{head}\n"
        + "\n".join(rows)
        + "\n"
    )
