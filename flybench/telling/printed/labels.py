"""What was printed on label paper: words and machine form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from flybench.paper.label.pages import PrintedLabels
from flybench.telling.table import paragraph
from flybench.telling.wording import counted, listed

_MOST_CODES = 4
"""Codes named in one sentence; judgement."""
_MOST_SIGNS = 20
"""Signs named in one sentence; judgement."""


def lines(printed: PrintedLabels, file: Path) -> list[str]:
    """Return how many labels are on how many pages of which file, and how to print them."""
    told = f"{counted(printed.count, 'label')} on {counted(printed.pages, 'page')}: {file}."
    return [paragraph(f"{told} Print it at 100 %, without fitting it to the page.")]


def remarks(printed: PrintedLabels) -> list[str]:
    """Return what had no room, and which signs the PDF leaves to its viewer's typefaces."""
    notes = _notes(
        printed.left_out,
        "The label of {code} has no room for {parts}.",
        "The labels of {codes} have no room for {parts}.",
    )
    notes += _notes(
        printed.shortened,
        "The label of {code} shows less than all of {parts}.",
        "The labels of {codes} show less than all of {parts}.",
    )
    if printed.borrowed:
        signs = printed.borrowed
        shown = signs if len(signs) <= _MOST_SIGNS else f"{signs[:_MOST_SIGNS]}…"
        notes.append(
            f"The PDF does not hold the shapes of {shown}: a viewer or printer without a typeface that has them shows "
            "empty boxes or nothing. Look at it before you print, or give a TrueType font with --font FILE."
        )
    if printed.retired:
        has = "is retired and has" if len(printed.retired) == 1 else "are retired and have"
        notes.append(f"{_some(printed.retired)} {has} no label. Ask for retired ones with retired:any.")
    if printed.contradicted:
        notes.append(
            "Predicted speeds on these labels rest on flies of which a scale and the parts contradict each other: "
            f"{listed(printed.contradicted)}. Weigh them again before you print; flybench sink predict says more."
        )
    return notes


def _notes(parts: Mapping[str, tuple[str, ...]], one: str, many: str) -> list[str]:
    """Return one sentence for all labels that lack the same."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for code, names in parts.items():
        alike.setdefault(names, []).append(code)
    return [
        one.format(code=codes[0], parts=listed(names))
        if len(codes) == 1
        else many.format(codes=_some(codes), parts=listed(names))
        for names, codes in alike.items()
    ]


def _some(codes: Sequence[str]) -> str:
    """Return the codes as a sentence has them, only how many more there are of long lists."""
    if len(codes) <= _MOST_CODES:
        return listed(codes)
    return listed([*codes[:_MOST_CODES], f"{len(codes) - _MOST_CODES} more"])


def record(printed: PrintedLabels, file: Path) -> dict[str, Any]:
    """Return the same for machines."""
    return {
        "file": str(file),
        "labels": printed.count,
        "pages": printed.pages,
        "left_out": {code: list(names) for code, names in printed.left_out.items()},
        "shortened": {code: list(names) for code, names in printed.shortened.items()},
        "signs_not_embedded": printed.borrowed,
        "retired": list(printed.retired),
        "weighings_that_contradict_parts": list(printed.contradicted),
    }
