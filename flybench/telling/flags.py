"""Flags of bench, weighing and rig, explained: what each means and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from flybench.bench.verdict import flags as bench
from flybench.errors import FlybenchError
from flybench.flag import Flag, Weight
from flybench.rig.odds import flags as rig
from flybench.sinking.weight import flags as weighing
from flybench.telling.table import paragraph

FLAGS: Mapping[str, Flag] = {**bench.FLAGS, **weighing.FLAGS, **rig.FLAGS}
"""Every flag of the program by its name."""
GROUPS: Mapping[str, Mapping[str, Flag]] = {
    "The clip and its drops": bench.FLAGS,
    "Weighing a fly": weighing.FLAGS,
    "The rig": rig.FLAGS,
}
"""The same by where they are raised, in reading order."""
WEIGHTS = {
    Weight.NOTE: "a note: the result stands as it is",
    Weight.DOUBT: "a doubt: the result can be used, but it is less sure",
    Weight.REFUSAL: "a refusal: the drop or the result that carries it does not count",
}
"""What each weight does to a result."""


def lines(names: Sequence[str]) -> list[str]:
    """Return meaning and cure of the named flags, or of all under the headings of GROUPS.

    Raises FlybenchError for a name that is no flag.
    """
    if names:
        _check(names)
        return [line for name in names for line in _explained(name)]
    lines = []
    for title, flags in GROUPS.items():
        lines += [f"{title}:", *(line for name in flags for line in _explained(name)), ""]
    return lines[:-1]


def record(names: Sequence[str]) -> dict[str, dict[str, str]]:
    """Return the machine form of the named flags, or of all. Raises FlybenchError for a name that is no flag."""
    _check(names)
    chosen = {name: FLAGS[name] for name in names or FLAGS}
    return {
        name: {"weight": str(flag.weight), "meaning": flag.meaning, "cure": flag.cure}
        for name, flag in chosen.items()
    }


def _check(names: Sequence[str]) -> None:
    for name in names:
        if name not in FLAGS:
            close = get_close_matches(name, FLAGS, n=1)
            hint = f"Did you mean {close[0]}?" if close else "Run flybench flags for all of them."
            raise FlybenchError(f"{name}: is not a flag. {hint}")


def _explained(name: str) -> list[str]:
    flag = FLAGS[name]
    return [
        f"  {name} ({flag.weight})",
        paragraph(f"{flag.meaning} {flag.cure}", "    "),
    ]


def flags_page() -> str:
    """Return docs/flags.md."""
    weights = "\n".join(f"- **{weight}**: {text.split(': ')[1]}." for weight, text in WEIGHTS.items())
    tables = [f"## {title}\n\n{_table(flags)}" for title, flags in GROUPS.items()]
    head = (
        "# Flags\n\nMade from the program by `python docs/make.py`.\n\nA flag is a word for one thing that makes a "
        "result doubtful. `flybench flags NAME` explains one on the terminal. Each has a weight:\n\n"
        f"{weights}\n"
    )
    return "\n".join([head, *tables])


def _table(flags: Mapping[str, Flag]) -> str:
    head = "| flag | weight | what it means | what to do |\n|---|---|---|---|\n"
    return head + "".join(
        f"| `{name}` | {flag.weight} | {flag.meaning} | {flag.cure} |\n" for name, flag in flags.items()
    )
