"""A rig's drift: as a table and sentences, and as machine form."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from flybench.flag import Flag
from flybench.hydraulics.sphere import GRAVITY
from flybench.jobs.river.rigs import RigDrift
from flybench.quantity import celsius
from flybench.rig.odds.drift import Drift, Fan
from flybench.rig.odds.flags import FLAGS
from flybench.rig.odds.goal import Goal
from flybench.rig.water.current import Current
from flybench.rig.water.wading import HARD_DEPTH, HARD_PRODUCT, HARD_SPEED, hard_to_wade
from flybench.shop.river.goal_words import goal_words, of_ten, upstream
from flybench.telling.numbers import percent
from flybench.telling.river.tackle import tackle_lines, tackle_record
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

CAUTION = (
    "Wade with a staff and turn back when in doubt: cold and fast water kills. Many waters limit the number of flies and "
    "the lead or weight on a line: check your local rules."
)
"""What is said after every answer about a river."""
_ROWS = 9
"""Rows of the table of a drift (judgement: they fit a screen)."""


def wading_caution(current: Current) -> str | None:
    """Return that a water is hard to stand in, with its numbers and where the limits come from; None for other water, of
    which nothing is said."""
    if not hard_to_wade(current):
        return None
    depth, speed = current.depth.value, current.surface_speed.value
    return (
        f"Do not count on standing here: {depth:.2g} m deep at {speed:.2g} m/s is {depth * speed:.2f} m²/s of depth times "
        f"speed. In tests, adults lost their footing from about 0.6 m²/s (Abt and others 1989, Karvonen and others 2000); "
        f"{HARD_PRODUCT:g} m²/s, {HARD_DEPTH:g} m or {HARD_SPEED:g} m/s is where older design rules for people end (Cox "
        "2011). It holds for the whole way there."
    )


def caution(current: Current | None = None) -> str:
    """Return what everybody who wades should read, and whether this water is hard to stand in."""
    hard = None if current is None else wading_caution(current)
    return paragraph(CAUTION) if hard is None else f"{paragraph(hard)}\n{paragraph(CAUTION)}"


def flag_lines(flags: Sequence[str]) -> list[str]:
    """Return what each flag means and what to do about it, a paragraph each."""
    return [flag_line(name) for name in flags]


def flag_line(name: str, of_what: str = "") -> str:
    """Return what a flag means and what to do about it, its name with what it is said of."""
    return paragraph(f"{name}{of_what}: {_explained(FLAGS[name])}", hanging="  ")


def _explained(flag: Flag) -> str:
    return f"{flag.meaning} {flag.cure}"


def water_line(current: Current) -> str:
    """Return which water was asked about."""
    bed = "nothing is known of the bed"
    if current.bed.roughness is not None:
        stone = current.bed.stone
        bed = f"bed with a roughness length of {current.bed.roughness * 1e3:.2g} mm"
        if stone is not None:
            bed = f"bed of stones of {stone * 100:.2g} cm"
        if current.bed.word not in ("d84", "z0"):
            bed = f"bed of {current.bed.word}"
    return paragraph(
        f"Water: {current.depth.value:.2f} m deep, {current.surface_speed.value:.2f} m/s at the surface, "
        f"{celsius(current.temperature):.3g} °C, {bed}.",
        hanging="  ",
    )


def lines(found: RigDrift) -> list[str]:
    """Return the table of a drift, its head first, then what came of it in sentences."""
    told = [water_line(found.current), *drift_summary(found), *tackle_lines(found.rig.tackle)]
    return [*_table(found.drift), "", *told]


def _table(drift: Drift) -> list[str]:
    """Return the drift at a few times: way and depth of the flies, and how the line enters the water."""
    flies = drift.flies
    names = ["point" if fly.role == "point" else _dropper(drift, number) for number, fly in enumerate(flies)]
    rows = [
        ["time", "point's", *names, "9 of 10 points", "line off", "line"],
        ["", "way", *(["deep"] * len(flies)), "between", "plumb", "pulls"],
        ["s", "m", *(["m"] * len(flies)), "m deep", "deg", "g"],
    ]
    step = max((len(drift.times) - 1) // (_ROWS - 1), 1)
    for k in range(0, len(drift.times), step):
        rows.append(
            [
                f"{drift.times[k]:.1f}",
                f"{flies[-1].x[k] - flies[-1].x[0]:.2f}",
                *(f"{fly.depth[k]:.2f}" for fly in flies),
                f"{flies[-1].depth_low[k]:.2f} to {flies[-1].depth_high[k]:.2f}",
                f"{math.degrees(drift.angle[k]):.0f}",
                f"{drift.tension[k] * 1e3 / GRAVITY:.2f}",
            ]
        )
    if drift.draws == 1:  # the best estimate alone has no range
        rows = [[cell for place, cell in enumerate(row) if place != len(flies) + 2] for row in rows]
    return aligned(rows, [True] * len(rows[0]))


def _dropper(drift: Drift, number: int) -> str:
    """Return what a dropper is called: by its number where there are two."""
    return "dropper" if len(drift.flies) < 3 else f"dropper {number + 1}"


def drift_summary(found: RigDrift) -> list[str]:
    """Return what came of a drift, in sentences."""
    drift = found.drift
    low, high = (drift.floor - one for one in (found.goal.level.high, found.goal.level.low))
    bed = f"The fish are {low:.2f} to {high:.2f} m deep; the tops of the stones lie {drift.floor:.2f} m deep"
    doubt = found.current.depth.expanded
    sentences = [f"{bed}."]
    if drift.draws > 1:
        sentences = [f"{bed}, ± {doubt:.2f} m: in some drifts the water is that much deeper or shallower."]
        sentences.append(
            f"The point comes down to the fish in {percent(drift.share_reached)} of {counted(drift.draws, 'drift')}"
            f"{_when(drift)}."
        )
        sentences.append(_landing(drift))
    else:
        sentences.append(_when_estimated(drift))
        sentences.append(_landing(drift))
    sentences.append(_useful(drift))
    sentences.append(goal_words(found.goal))
    return [paragraph(sentence, hanging="  ") for sentence in sentences]


def _landing(drift: Drift) -> str:
    """Return how far upstream of the fish to land the flies, and how often they then touch."""
    touches = f"A fly touches the bottom in {of_ten(drift.share_touched)}."
    wanted = of_ten(drift.goal.down)
    if math.isfinite(drift.landing):
        return f"Land it {upstream(drift.landing)} upstream of the fish: in {wanted} it is then down with them. {touches}"
    return f"It is down in time in {of_ten(drift.share_down)}; {wanted} are wanted. {touches}"


def _useful(drift: Drift) -> str:
    """Return what the flies do once they are down."""
    told = (
        f"From {drift.useful_from:.1f} s on, when it comes past the fish, the point is at their level for "
        f"{percent(drift.share_at_level)} of the time, and lies on the bed for {percent(drift.share_on_bed)}"
    )
    if len(drift.flies) == 1:
        return f"{told}."
    flies = "the dropper" if len(drift.flies) == 2 else "the droppers"
    return f"{told}; {flies} for {percent(drift.dropper_at_level)} and {percent(drift.dropper_on_bed)}."


def _when(drift: Drift) -> str:
    """Return after what time and way the point comes down, of the middle draw."""
    if not math.isfinite(drift.time_to_level.middle):
        return ", too few to name a usual time"
    fans = (drift.time_to_level, "s"), (drift.way_to_level, "m")
    middle = " and ".join(f"{fan.middle:.1f} {unit}" for fan, unit in fans)
    ranges = ", ".join(_range(fan, unit) for fan, unit in fans)
    return f": after {middle} from where it landed (nine drifts in ten: {ranges})"


def _when_estimated(drift: Drift) -> str:
    """Return the same of the best estimate alone."""
    if not math.isfinite(drift.time_to_level.middle):
        return "By the best estimate, the point never comes down to the fish."
    return (
        f"By the best estimate, the point comes down to the fish after {drift.time_to_level.middle:.1f} s and "
        f"{drift.way_to_level.middle:.1f} m from where it landed."
    )


def _range(fan: Fan, unit: str) -> str:
    """Return the range of nine drifts in ten, which may end with never."""
    if not math.isfinite(fan.high):
        return f"{fan.low:.1f} {unit} to never"
    return f"{fan.low:.1f} to {fan.high:.1f} {unit}"


def record(found: RigDrift) -> dict[str, Any]:
    """Return the machine form of a drift, SI units; null for a level that is never reached."""
    drift = found.drift
    return {
        "time_s": drift.times.tolist(),
        "flies": [
            {
                "role": fly.role,
                "name": fly.name,
                "x_m": fly.x.tolist(),
                "x_5_m": fly.x_low.tolist(),
                "x_95_m": fly.x_high.tolist(),
                "depth_m": fly.depth.tolist(),
                "depth_5_m": fly.depth_low.tolist(),
                "depth_95_m": fly.depth_high.tolist(),
                "speed_m_s": fly.speed,
                "weight_n": fly.weight,
            }
            for fly in drift.flies
        ],
        "tension_n": drift.tension.tolist(),
        "angle_rad": drift.angle.tolist(),
        "time_to_band_s": finite(drift.time_to_level.middle),
        "time_to_band_5_95_s": [finite(drift.time_to_level.low), finite(drift.time_to_level.high)],
        "drift_to_band_m": finite(drift.way_to_level.middle),
        "drift_to_band_5_95_m": [finite(drift.way_to_level.low), finite(drift.way_to_level.high)],
        "share_reached": drift.share_reached,
        "tackle": tackle_record(found.rig.tackle),
        "wanted": goal_record(found.goal),
        "wading_caution": wading_caution(found.current),
        "landing_m": finite(drift.landing),
        "useful_from_s": drift.useful_from,
        "share_down_in_time": drift.share_down,
        "share_touched": drift.share_touched,
        "share_in_band": drift.share_at_level,
        "share_grounded": drift.share_on_bed,
        "dropper_share_in_band": drift.dropper_at_level,
        "dropper_share_grounded": drift.dropper_on_bed,
        "floor_m": drift.floor,
        "draws": drift.draws,
        "flags": list(drift.flags),
    }


def goal_record(goal: Goal) -> dict[str, Any]:
    """Return the machine form of what is wanted, SI units."""
    return {
        "touched": goal.touches,
        "down_in_time": goal.down,
        "stretch_m": goal.stretch,
        "farthest_m": goal.farthest,
        "bed_cost": goal.bed_cost,
        "point_worth": goal.point_worth,
        "dropper_worth": goal.dropper_worth,
    }


def finite(value: float) -> float | None:
    """Return a value, or None for one that is never reached."""
    return value if math.isfinite(value) else None
