"""The pocket sheet: the box's ladder, and the point fly for a few depths and speeds, on paper or as text."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from flybench import __version__
from flybench.jobs.box import Box
from flybench.jobs.files import check_writable, whole_file
from flybench.jobs.rig_asked import Asked, band_of_text, current_of, tackle_of
from flybench.paper.pocket import PocketCell, PocketPage, PocketRung, save_pocket
from flybench.quantity import COVERAGE_FACTOR, parse
from flybench.rig.aim import Aim
from flybench.rig.choosing import Candidate, choose
from flybench.rig.drift import drift
from flybench.rig.flies import RigFly
from flybench.rig.tackle import Rig

DEPTHS, SPEEDS = ("0.5 m", "0.8 m", "1.2 m"), ("0.3 m/s", "0.6 m/s", "0.9 m/s")
"""Waters of the sheet where none are said."""
CAUTIONS = (
    "Wade with a staff and a belt; turn back in doubt: cold and fast water kills.",
    "The number of flies, lead and weight on the line are regulated on many waters: check your local rules.",
    "Distances are middle ones: tell flybench rig adjust what six drifts did.",
)
_DRAWS, _TARGET, _LENGTH, _STEP, _SECONDS = 100, 3.0, 5.0, 0.5, 12.0
_MOST_TIES = 2

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Pocket:
    """The sheet's content and what should be known of the box."""

    page: PocketPage
    remarks: list[str]


def pocket(
    box: Box, asked: Asked, depths: Sequence[str], speeds: Sequence[str], progress: Progress, seed: int = 1
) -> Pocket:
    """Return the pocket sheet of a box: for every depth and surface speed the point fly and how far upstream to land it.

    The fly is the one that ``rig choose`` ranks first, alone on the leader and as sure as any to come down within 3 m;
    none where none comes down in half of the drifts. Raises BadValueError for water or tackle that cannot be.
    """
    waters = [(depth, speed) for depth in depths for speed in speeds]
    cells = []
    for number, (depth, speed) in enumerate(waters):
        progress("waters", number, len(waters))
        cells.append(_cell(box, replace(asked, depth=depth, surface_speed=speed), seed))
    progress("waters", len(waters), len(waters))
    rungs = [
        PocketRung(
            fly.name, fly.speed.value, COVERAGE_FACTOR * fly.speed.standard_uncertainty, fly.weight.value
        )
        for fly in sorted(box.flies, key=lambda fly: fly.speed.value)
    ]
    page = PocketPage(
        rungs,
        [_short(one) for one in depths],
        [_short(one) for one in speeds],
        cells,
        _assumed(asked),
        CAUTIONS,
    )
    return Pocket(page, box.remarks)


def _short(text: str) -> str:
    return text.replace("±", "+-").partition("+-")[0].strip()


def _cell(box: Box, asked: Asked, seed: int) -> PocketCell:
    """Return the point fly for one water, and the way upstream to land it [m]."""
    current, tackle = current_of(asked), tackle_of(asked, 0)
    aim = Aim(band_of_text(asked.band, current), _TARGET, _LENGTH, _SECONDS)
    ranked = choose(box.flies, current, tackle, aim, seed, draws=_DRAWS).ranked
    best = ranked[0]
    if best.in_time < 0.5:
        return PocketCell((), None, best.in_time)
    fly: RigFly = box.flies[best.flies[0]]
    seen = drift(Rig(tackle, (fly,)), current, _SECONDS, _DRAWS, seed, aim.band)
    way = seen.drift_to_band.middle
    landed = None if not math.isfinite(way) else math.ceil(way / _STEP - 1e-9) * _STEP
    return PocketCell(_ties(ranked), landed, best.in_time)


def _ties(ranked: Sequence[Candidate]) -> tuple[str, ...]:
    """Return the best and, where they cannot be told apart, one more."""
    return tuple(one.names[0] for one in ranked if one.tie and one.in_time >= 0.5)[:_MOST_TIES]


def _assumed(asked: Asked) -> list[str]:
    bed = asked.bed or asked.d84 or asked.z0 or "not told (1/6 law)"
    celsius = parse(asked.temperature, "K", "temperature") - 273.15
    lead = "" if asked.lead_speed is None else f" at {asked.lead_speed}"
    return [
        f"Water {celsius:.3g} °C, bed {bed}",
        f"Leader {asked.leader_diameter}, {asked.leader_length}, {asked.material}",
        f"Held {asked.hold}{lead}, entry {asked.entry}; one fly",
        f"Fish: {asked.band}; flies of this box, measured and weighed",
        f"Made {datetime.now(UTC):%Y-%m-%d} by flybench {__version__}",
    ]


def print_pocket(found: Pocket, path: Path, paper: str) -> int:
    """Write the sheet as PDF; returns how many flies of the ladder did not find room."""
    check_writable(path)
    with whole_file(path) as part:
        return save_pocket(found.page, part, paper)


def as_text(page: PocketPage) -> list[str]:
    """Return the sheet as lines for a phone."""
    lines = ["POINT FLY AND WAY UPSTREAM"]
    cells = iter(page.cells)
    for depth in page.depths:
        lines.append(f"{depth} deep")
        for speed in page.speeds:
            cell = next(cells)
            where = "" if cell.landed is None else f", land {cell.landed:g} m above"
            lines.append(f"  {speed}: {' or '.join(cell.flies) or 'none reaches'}{where}")
    lines += ["", "LADDER, cm/s (k = 2), mN in water"]
    lines += [
        f"  {one.code}: {one.speed * 100:.0f} ± {one.expanded * 100:.0f}, {one.weight * 1e3:.1f}"
        for one in page.rungs
    ]
    return [*lines, "", *page.assumed, "", *page.cautions]
