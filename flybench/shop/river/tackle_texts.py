"""Tackle as the angler types it, or as it is usual in this water, turned into what the rig's model takes in SI."""

from __future__ import annotations

import math
import re
from typing import TypeVar

from flybench.errors import BadValueError
from flybench.quantity import in_unit_of, parse_inside
from flybench.rig.tackle import leader
from flybench.rig.tackle.diameter import parse_diameter
from flybench.rig.tackle.entry import UPRIGHT
from flybench.rig.tackle.leader import Entry, Hold, LeaderMaterial, Tackle
from flybench.shop.river.rig_texts import AFTER_A_UNIT, RigTexts, current_from

ONE_GAP, TWO_GAPS = "0.5 m", "1.0 m, 0.5 m"
"""Droppers above the point where nothing is said (common practice, no source)."""
AS_LONG, SHORTEST = 2.0, 1.5
"""Length of the leader in the water where none is typed, over the depth [-], and the least of it [m] (judgement: after a
steep entry, flies of this model come down no sooner on a longer one; two droppers find room on the least)."""
USUAL_ENTRY = Entry.STEEP.value
"""How the flies enter where nothing is typed."""
SINKS, FLOATS = "sinks", "floats"
"""What a leader that lies on the water does there."""
LEANING = 1.15
"""Length of a tight line over the height of the rod's tip above the bed, where none is typed [-]: it reaches the bed while it
leans by 30 degrees (judgement)."""
USUAL_TIP = 1.5
"""Height of the rod's tip above the water where none is typed [m] (common practice, no source: an arm held level)."""
USUAL_LEAD = 0.8
"""Speed at which a tight line is led where none is typed, over that of the surface [-]: about the mean over the depth, at
which lines are lifted least (river gauging has 0.8 on natural beds; Hauet, Morlot & Daubagnan 2018, abstract)."""

_ANGLE = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*(?:deg|degrees?|°)\s*", re.ASCII)

_Word = TypeVar("_Word", LeaderMaterial, Hold, Entry)


def tackle_from(texts: RigTexts, droppers: int) -> Tackle:
    """Return the tackle for a number of droppers; raises BadValueError naming the option that cannot be."""
    hold = _word(Hold, texts.hold, "--hold")
    tip = _tip_height(texts, hold)
    length = _length(texts, tip)
    return Tackle(
        diameter=parse_diameter(texts.leader_diameter, "--leader-diameter"),
        length=length,
        gaps=_gaps(texts, length, droppers),
        material=_word(LeaderMaterial, texts.leader_material, "--leader-material"),
        hold=hold,
        lead_speed=_lead_speed(texts, hold),
        entry=_word(Entry, texts.entry or USUAL_ENTRY, "--entry"),
        entry_angle=_entry_angle(texts),
        slack=_slack(texts, length, tip or 0.0),
        entry_speed=_entry_speed(texts),
        tip_height=tip,
        tag=_tag(texts),
        floats=_floats(texts, hold),
    )


def _floats(texts: RigTexts, hold: Hold) -> bool:
    """Return whether the leader floats in the water's skin."""
    if texts.leader not in (SINKS, FLOATS):
        raise BadValueError("--leader", f'"{texts.leader}" is not known', f"Use one of {SINKS}, {FLOATS}.")
    if texts.leader == FLOATS and hold is Hold.TIGHT:
        problem = "floats is given, but the line is held tight, so none of it lies on the water"
        raise BadValueError("--leader", problem, "Leave it out, or choose another --hold.")
    return texts.leader == FLOATS


def _tag(texts: RigTexts) -> float:
    """Return the length of a dropper's tag, as typed or usual [m]."""
    if texts.dropper_tag is None:
        return leader.TAG
    cure = "Give the way from the knot to the dropper; 0 cm for a fly on the leader itself."
    return parse_inside(
        texts.dropper_tag, "m", "--dropper-tag", 0.0, leader.LONGEST_TAG, cure, example="10 cm"
    )


def _length(texts: RigTexts, tip: float | None) -> float:
    """Return the length of the leader as typed, or as this depth wants it [m]."""
    if texts.leader_length is None:
        depth = current_from(texts).depth.value
        whole = max(AS_LONG * depth, SHORTEST) if tip is None else LEANING * (tip + depth)
        return min(math.ceil(whole * 10 - 1e-9) / 10, leader.LONGEST)
    cure = "Count from where the line enters the water to the point."
    if tip is not None:
        cure = "Count from the rod's tip to the point."
    limits = (leader.SHORTEST, leader.LONGEST)
    length = parse_inside(texts.leader_length, "m", "--leader-length", *limits, cure, example="2.5 m")
    if tip is not None and length < tip + leader.LEAST_REACH:
        problem = (
            f"{texts.leader_length.strip()} from the rod's tip to the point does not reach "
            f"{in_unit_of(leader.LEAST_REACH, texts.leader_length, 'm')} under water from a tip "
            f"{in_unit_of(tip, texts.leader_length, 'm')} above it"
        )
        cure = "Let out more line, or hold the tip lower (--tip-height)."
        raise BadValueError("--leader-length", problem, cure)
    return length


def refuse_lone_dropper_options(texts: RigTexts, droppers: int, cure: str) -> None:
    """Refuse, by BadValueError, what is typed of a dropper where none is tied on."""
    for name in ("dropper_gap", "dropper_tag", "dropper_level"):
        if getattr(texts, name) is not None and droppers == 0:
            raise BadValueError(f"--{name.replace('_', '-')}", "is given without a dropper", cure)


def length_words(texts: RigTexts) -> str:
    """Return the length of the leader in words that hold for several waters."""
    tight = texts.hold == Hold.TIGHT.value
    where = "from the rod's tip to the point" if tight else "in the water"
    if texts.leader_length is not None:
        return f"{texts.leader_length.strip()} {where}"
    if tight:
        return f"{LEANING:g} times the tip's height above the bed"
    return f"{AS_LONG:g} times the depth {where}, at least {SHORTEST:g} m"


def hold_words(texts: RigTexts) -> str:
    """Return how the line is held, after "Line", in words that hold for several waters."""
    if texts.hold != Hold.TIGHT.value:
        lead = "" if texts.lead_speed is None else f" at {texts.lead_speed}"
        return f"at the surface: {texts.hold}{lead}"
    lead = texts.lead_speed or f"{USUAL_LEAD:g} of the surface speed"
    return (
        f"tight from the rod's tip, {texts.tip_height or f'{USUAL_TIP:g} m'} above the water, led at {lead}"
    )


def entry_words(texts: RigTexts) -> str:
    """Return how the flies come in, as typed or usual."""
    entry = texts.entry or USUAL_ENTRY
    if texts.entry_angle is not None:
        entry = f"at {texts.entry_angle.strip()} above the water"
    slack = "" if texts.slack is None else f", slack {texts.slack.strip()}"
    speed = "" if texts.entry_speed is None else f", at {texts.entry_speed.strip()} downwards"
    return entry + slack + speed


def _tip_height(texts: RigTexts, hold: Hold) -> float | None:
    """Return the height of the rod's tip above the water, as typed or usual [m]; None for a line that begins there."""
    if hold is not Hold.TIGHT:
        if texts.tip_height is not None:
            problem = f'"{texts.tip_height}" is given, but the line is {hold}, not held tight'
            raise BadValueError("--tip-height", problem, "Leave it out, or add --hold tight.")
        return None
    if texts.tip_height is None:
        return USUAL_TIP
    cure = "Give the height of the rod's tip above the water."
    limits = (leader.LOWEST_TIP, leader.HIGHEST_TIP)
    return parse_inside(texts.tip_height, "m", "--tip-height", *limits, cure, example="1.5 m")


def _lead_speed(texts: RigTexts, hold: Hold) -> float | None:
    if texts.lead_speed is None:
        if hold is Hold.TIGHT:
            return USUAL_LEAD * current_from(texts).surface_speed.value
        if hold is Hold.LED:
            cure = 'Give it, such as --lead-speed "0.5 m/s"; about 0.8 of the surface speed is good.'
            raise BadValueError("--lead-speed", "is missing for a line that is led", cure)
        return None
    if hold not in leader.BY_HAND:
        problem = f'"{texts.lead_speed}" is given, but the line is {hold}, not led'
        raise BadValueError("--lead-speed", problem, "Leave it out, or add --hold led.")
    cure = "Lead at about 0.8 of the surface speed."
    return parse_inside(
        texts.lead_speed, "m/s", "--lead-speed", 0.0, leader.FASTEST_LEAD, cure, example="0.5 m/s"
    )


def _slack(texts: RigTexts, length: float, tip: float) -> float | None:
    """Return the share of the leader that lies loose as typed [-]: no more than a line from the rod's tip leaves."""
    if texts.slack is None:
        return None
    cure = "Give the share of the leader that lies loose: 0 for a straight leader."
    slack = parse_inside(texts.slack, "1", "--slack", 0.0, leader.SLACKEST, cure, example="0.6")
    most = math.floor(100 * (1 - tip / length)) / 100
    if tip and slack > most:
        problem = (
            f"{texts.slack.strip()} of the line cannot lie loose, for {tip:.2f} m of its {length:.2f} m reach straight down "
            "to the water"
        )
        raise BadValueError("--slack", problem, f"Give {most:g} at the most, or let out more line.")
    return slack


def _entry_angle(texts: RigTexts) -> float | None:
    """Return the angle above the water at which the flies enter as typed, such as "60 deg" [rad]."""
    if texts.entry_angle is None:
        return None
    if texts.entry is not None:
        problem = f'"{texts.entry_angle}" is given beside --entry {texts.entry}, which is an angle of its own'
        raise BadValueError("--entry-angle", problem, "Give the one or the other.")
    found = _ANGLE.fullmatch(texts.entry_angle)
    if found is None:
        problem = f'"{texts.entry_angle}" is not an angle'
        raise BadValueError("--entry-angle", problem, 'Write it in degrees, for example "60 deg".')
    angle = math.radians(float(found[1]))
    if angle > UPRIGHT:
        problem = f"{texts.entry_angle.strip()} is outside 0 to 90 deg"
        raise BadValueError("--entry-angle", problem, "Give 0 deg for flat, 90 deg for straight down.")
    return angle


def _entry_speed(texts: RigTexts) -> float | None:
    if texts.entry_speed is None:
        return None
    cure = "Give how fast the flies go down as they enter the water."
    return parse_inside(
        texts.entry_speed, "m/s", "--entry-speed", 0.0, leader.FASTEST_ENTRY, cure, example="2 m/s"
    )


def _gaps(texts: RigTexts, length: float, droppers: int) -> tuple[float, ...]:
    """Return how far above the point each dropper is tied [m], the upper first."""
    if droppers == 0:
        return ()
    typed = texts.dropper_gap or (ONE_GAP if droppers == 1 else TWO_GAPS)
    parts = AFTER_A_UNIT.split(typed.strip())
    if len(parts) != droppers:
        problem = f'"{typed}" does not hold as many distances as there are droppers ({droppers})'
        raise BadValueError(
            "--dropper-gap", problem, f'Give one for each, the upper first, such as "{TWO_GAPS}".'
        )
    long = f"{length:g} m" if texts.leader_length is None else texts.leader_length.strip()
    where = "in the water" if texts.hold != Hold.TIGHT.value else "from the rod's tip"
    cure = f"The leader is {long} long {where}: tie the dropper within it."
    limits = (leader.NEAREST, length - leader.NEAREST)
    gaps = tuple(parse_inside(part, "m", "--dropper-gap", *limits, cure, example=ONE_GAP) for part in parts)
    if len(gaps) == 2 and gaps[0] - gaps[1] < leader.NEAREST:
        problem = f'"{typed}" does not name the upper dropper first'
        raise BadValueError(
            "--dropper-gap", problem, "Give the upper one first, at least 5 cm above the other."
        )
    return gaps


def _word(kind: type[_Word], text: str, key: str) -> _Word:
    for one in kind:
        if one.value == text:
            return one
    raise BadValueError(key, f'"{text}" is not known', f"Use one of {', '.join(one.value for one in kind)}.")
