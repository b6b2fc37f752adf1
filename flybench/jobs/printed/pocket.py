"""The pocket sheet: the box's ladder, and the point fly for a few depths and speeds, on paper or as text."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from flybench import __version__
from flybench.files import check_writable, whole_file
from flybench.jobs.river.asked import Asked, band_of_text, current_of, tackle_of
from flybench.jobs.river.box import Box
from flybench.paper.pocket import PocketCell, PocketPage, PocketRung, save_pocket
from flybench.quantity import parse, parse_with_uncertainty
from flybench.rig.chain.time_steps import steps
from flybench.rig.odds.aim import Aim, scores
from flybench.rig.odds.choosing import Candidate, candidates, choose
from flybench.rig.odds.draws import drawn
from flybench.rig.odds.drift import drift, leader_flags
from flybench.rig.odds.outcomes import outcomes
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.current import Current

DEPTHS, SPEEDS = ("0.5 m", "0.8 m", "1.2 m"), ("0.3 m/s", "0.6 m/s", "0.9 m/s")
"""Waters of the sheet where none are said."""
CAUTIONS = (
    "Wade with a staff and flotation; turn back in doubt: cold and fast water kills.",
    "The number of flies, lead and weight on the line are regulated on many waters: check your local rules.",
    "Distances are medians, rounded up to 0.5 m: half of the drifts come down sooner, half later. Adjust after six "
    "drifts.",
)
NOTES = {
    "mostly-grounded": ("*", "* lies on the bed for more than half of the drift."),
    "shallow-rough": ("?", "? under 5 stones deep: no known law holds, trust no single number."),
    "leader-short": ("!", "! leader shorter than the way down to the band."),
}
"""Marks of what makes a single water doubtful, by flag, and what they mean."""
REACHES = 0.5
"""Least probability of being down in time of a fly that is named [-]."""
_DRAWS, _TARGET, _LENGTH, _STEP, _SECONDS = 100, 3.0, 5.0, 0.5, 12.0
_NAMED = 2

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Pocket:
    """The sheet's content, what should be known of the box, and the flags of all waters, words of flags.FLAGS."""

    page: PocketPage
    remarks: list[str]
    flags: tuple[str, ...]


def pocket(
    box: Box,
    asked: Asked,
    depths: Sequence[str],
    speeds: Sequence[str],
    progress: Progress,
    seed: int = 1,
    dropper: RigFly | None = None,
) -> Pocket:
    """Return the pocket sheet of a box: for every depth and surface speed the point fly and how far upstream to land it.

    The fly is the one that ``rig choose`` ranks first of those that come down within 3 m in half of the drifts, alone
    on the leader or under a dropper that stays the same; none where none does. Raises BadValueError for water or
    tackle that cannot be.
    """
    waters = [(depth, speed) for depth in depths for speed in speeds]
    cells: list[PocketCell] = []
    flags: dict[str, None] = {}
    for number, (depth, speed) in enumerate(waters):
        progress("waters", number, len(waters))
        cell, raised = _cell(box.flies, dropper, replace(asked, depth=depth, surface_speed=speed), seed)
        cells.append(cell)
        flags |= dict.fromkeys(raised)
    progress("waters", len(waters), len(waters))
    rungs = [PocketRung(fly.name, fly.speed, fly.weight) for fly in sorted(box.flies, key=_by_speed)]
    page = PocketPage(
        rungs,
        [_shown(one, "m", "depth") for one in depths],
        [_shown(one, "m/s", "surface-speed") for one in speeds],
        cells,
        _assumed(asked, dropper, "bed-unknown" in flags),
        [note for flag, (_, note) in NOTES.items() if flag in flags],
        CAUTIONS,
    )
    return Pocket(page, box.remarks, tuple(flags))


def _by_speed(fly: RigFly) -> float:
    return fly.speed.value


def _shown(text: str, unit: str, key: str) -> str:
    """Return a depth or speed for the head of the table, as typed; without its ± in SI."""
    value, doubt = parse_with_uncertainty(text, unit, key)
    return text.strip() if doubt is None else f"{value:g} {unit}"


def _cell(
    flies: Sequence[RigFly], dropper: RigFly | None, asked: Asked, seed: int
) -> tuple[PocketCell, tuple[str, ...]]:
    """Return the point flies for one water with the way upstream to land each, and what is doubtful of it."""
    current, tackle = current_of(asked), tackle_of(asked, int(dropper is not None))
    aim = Aim(band_of_text(asked.band, current), _TARGET, _LENGTH, _SECONDS)
    sure = _sure(flies, dropper, current, tackle, aim, seed)
    known = {fly.name: fly for fly in flies}
    choices, flags = [], dict.fromkeys(current.flags)
    for one in sure[:_NAMED]:
        rig = Rig(tackle, (*(() if dropper is None else (dropper,)), known[one.names[-1]]))
        seen = drift(rig, current, _SECONDS, _DRAWS, seed, aim.band)
        way = seen.drift_to_band.middle
        if not math.isfinite(way):  # just as sure as it must be, and not so over these draws
            continue
        choices.append((one.names[-1], math.ceil(way / _STEP - 1e-9) * _STEP))
        flags |= dict.fromkeys(seen.flags)
    if not sure:
        flags |= dict.fromkeys(leader_flags(tackle, current, aim.band))
    marks = "".join(mark for flag, (mark, _) in NOTES.items() if flag in flags)
    return PocketCell(tuple(choices), max(len(sure) - _NAMED, 0), marks), tuple(flags)


def _sure(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, aim: Aim, seed: int
) -> list[Candidate]:
    """Return the best point fly that comes down in time in half of the drifts, and those that cannot be told from it.

    ``choose`` looks closely at the promising flies only: where none of them reaches, the others are asked too.
    """
    left = list(flies)
    while left:
        ranked = _ranked(left, dropper, current, tackle, aim, seed)
        sure = [one for one in ranked if one.in_time >= REACHES]
        if sure:
            return [one for one in sure if _alike(one, sure[0])]
        tried = {one.names[-1] for one in ranked}
        left = [fly for fly in left if fly.name not in tried]
    return []


def _ranked(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, aim: Aim, seed: int
) -> tuple[Candidate, ...]:
    """Return the point flies, the best first: alone as ``choose`` ranks them, or all under one dropper."""
    if dropper is None:
        return choose(flies, current, tackle, aim, seed, draws=_DRAWS).ranked
    box = [*flies, dropper]
    sets = [(len(flies), place) for place in range(len(flies))]
    draws = drawn(_DRAWS, len(box), len(steps(aim.seconds)), seed)
    scored = scores(outcomes(current, tackle, box, sets, draws, [aim])[0], aim)
    return candidates(box, sets, scored, [(tackle.lead_speed, aim.target)] * len(sets))


def _alike(one: Candidate, first: Candidate) -> bool:
    """Tell whether a fly may be as good as the first named, as Candidate.tie does of the best of all."""
    return one.behind - first.behind <= 2 * max(one.doubt, one.behind_doubt)


def _assumed(asked: Asked, dropper: RigFly | None, bed_unknown: bool) -> list[str]:
    bed = (
        "not told: a 1/6 law, over cobbles it is slower"
        if bed_unknown
        else asked.bed or asked.d84 or asked.z0
    )
    celsius = parse(asked.temperature, "K", "temperature") - 273.15
    lead = "" if asked.lead_speed is None else f" at {asked.lead_speed}"
    rig = "one fly" if dropper is None else f"dropper {dropper.name}, {asked.dropper_gap or '0.5 m'} up"
    return [
        f"Water {celsius:.3g} °C, bed {bed}",
        f"Leader {asked.leader_diameter}, {asked.leader_length}, {asked.material}; {rig}",
        f"Line {asked.hold}{lead}, entry {asked.entry}",
        f"Fish: {asked.band}; down within {_TARGET:g} m in at least half of the drifts, {Aim().surely:.0%} wanted",
        "Speeds and weights of this shop's own flies only; other flies, even of the same pattern, differ.",
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
        lines += [f"  {speed}: {' '.join(next(cells).words())}" for speed in page.speeds]
    lines += [*page.notes, "", "LADDER, cm/s (± is k = 2), mN in water"]
    lines += [
        f"  {one.code}: {one.speed_words[0]} ± {one.speed_words[1]}, {one.weight_words}" for one in page.rungs
    ]
    return [*lines, "", *page.assumed, "", *page.cautions]
