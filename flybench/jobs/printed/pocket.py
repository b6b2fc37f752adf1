"""The pocket page of a catalog's flies: the table worked out, and written as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flybench.errors import BadValueError
from flybench.files import check_writable, whole_file
from flybench.hydraulics.water import Water
from flybench.jobs.river.box import CatalogFlies, OpenCatalog
from flybench.paper.pocket import save_pocket
from flybench.paper.pocket_words import page_of
from flybench.shop.river.pocket import DEPTHS, SPEEDS, PocketTable, Progress, pocket_table
from flybench.shop.river.rig_texts import RigTexts, temperature_from
from flybench.shop.river.tackle_texts import refuse_lone_dropper_options

MOST_DEPTHS, MOST_SPEEDS = 5, 4
"""Rows and columns that are still readable on the page (judgement)."""


@dataclass(frozen=True)
class Pocket:
    """The table of the page, and remarks on flies that were left out."""

    table: PocketTable
    remarks: list[str]


def make_pocket(
    open_it: OpenCatalog,
    query: Sequence[str],
    texts: RigTexts,
    depths: Sequence[str],
    speeds: Sequence[str],
    progress: Progress,
    seed: int = 1,
    dropper: str | None = None,
) -> Pocket:
    """Return the pocket page of the flies that a query finds.

    Parameters: depths and speeds as typed, the usual ones where there are none; dropper, a fly that stays the same above
    every point. Raises BadValueError naming the option that cannot be, FlybenchError for a box without flies.
    """
    _refuse_many("--depth", depths, MOST_DEPTHS)
    _refuse_many("--surface-speed", speeds, MOST_SPEEDS)
    refuse_lone_dropper_options(texts, int(dropper is not None), "Name its fly with --dropper CODE.")
    water, flies = Water(temperature_from(texts)), CatalogFlies(open_it)
    box = flies.box(query, water)
    above = None if dropper is None else flies.fly(dropper, water, "dropper")
    waters = depths or DEPTHS, speeds or SPEEDS
    return Pocket(pocket_table(box.flies, texts, *waters, progress, seed, above), box.remarks)


def _refuse_many(key: str, given: Sequence[str], most: int) -> None:
    """Refuse more rows or columns than the page has room for."""
    if len(given) > most:
        raise BadValueError(
            key, f"is given {len(given)} times", f"Give it {most} times at most: more is not readable."
        )


def print_pocket(found: Pocket, path: Path, paper: str) -> int:
    """Write the page as PDF; returns how many flies of the box found no room on it."""
    check_writable(path)
    with whole_file(path) as part:
        return save_pocket(page_of(found.table), part, paper)
