"""One measured demo clip, made over into every kind of run that a page or an overlay may have to show."""

from __future__ import annotations

from dataclasses import replace

from flybench.bench.measure import Measurement
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import MeasuredDrop
from flybench.rounding import speed_text

SHOWN = "moss-hackle"
"""The demo clip that is shown."""
KINDS = ("good", "single", "eight", "mixed", "refused", "unfitted", "nothing", "flagged")


def refused(drop: MeasuredDrop, flag: str = "not-terminal") -> MeasuredDrop:
    """Return a drop that is not used."""
    return replace(drop, flags=[flag, "tilted-path", "odd-drop", "tumbling", "near-wall", "spiralling-path"])


def kind_of(run: Measurement, kind: str) -> Measurement:
    """Return the run made over into another kind of run."""
    drops, result = run.result.drops, run.result
    unpooled = replace(result, sink_speed=None, budget=[], free_water=None, drag=None)
    changed = {
        "good": result,
        "single": replace(result, drops=drops[:1], flags=["single-drop", "distance-guessed"]),
        "eight": replace(result, drops=(drops * 3)[:8]),
        "mixed": replace(result, drops=[refused(drops[0]), *drops[1:], *map(refused, drops), *drops]),
        "refused": replace(unpooled, drops=[refused(drop) for drop in drops]),
        "unfitted": replace(
            unpooled, drops=[replace(refused(drop, "too-few-frames"), fit=None) for drop in drops]
        ),
        "nothing": replace(unpooled, drops=[], left_out={"rose (a bubble?)": 27, "hardly moved": 20}),
        "flagged": replace(
            result,
            flags=list(FLAGS),
            clip=replace(result.clip, name="$\\frac{1}$ 釣り\n" + "long name of a clip " * 12 + ".mp4"),
        ),
    }
    return replace(run, result=changed[kind])


def told_speed(run: Measurement) -> str:
    """Return the speed as a page says it."""
    speed, uncertainty = run.result.sink_speed, run.result.standard_uncertainty
    return "No sink speed" if speed is None else speed_text(speed, 2 * uncertainty).split(" (")[0]
