"""The clock of a clip in words: what its times were taken for, and which rate does not fit."""

from __future__ import annotations

from flybench.bench.clip.clock import Source
from flybench.bench.verdict.result import BenchResult
from flybench.bench.verdict.time_base import TimeBase
from flybench.telling.table import paragraph

_TAKEN = {Source.TYPED: "as typed; the file says", Source.TAGGED: "as its times have it; the file also says"}
_SAID = {Source.TYPED: "typed", Source.TAGGED: "the file says"}


def which_rate(result: BenchResult) -> list[str]:
    """Return by how much a clip looks slowed down, or which rate does not fit it, and the option to give."""
    time_base = result.time_base
    if time_base is None or time_base.flag not in ("looks-slowed", "rate-contradicted"):
        return []
    if time_base.flag == "rate-contradicted":
        return [f"It was taken to be filmed at {_rate(time_base)}, as {_SAID[time_base.source]}."]
    best, *others = time_base.factors
    rate = f"{best * time_base.rate_hz:.0f}"
    perhaps = f" (perhaps {' or '.join(f'{factor:g}' for factor in sorted(others))} times)" if others else ""
    return [
        f"It looks about {best:g} times too slow{perhaps}, as if filmed at {rate} frames a second. Give the rate at which "
        f'the camera filmed, for example --capture-rate "{rate} Hz".'
    ]


def taken(result: BenchResult) -> list[str]:
    """Return what the times were taken for, where a speed rests on it."""
    time_base = result.time_base
    if result.sink_speed is None or time_base is None:
        return []
    told = _untold(time_base) if time_base.source is Source.UNTOLD else _disputed(time_base)
    return [paragraph(told)] if told else []


def _untold(time_base: TimeBase) -> str:
    taken_as = f"Taken as real time: {_rate(time_base)}."
    if time_base.conformed > 1.0:
        filmed = f"{time_base.conformed * time_base.rate_hz:.0f}"
        return (
            f"{taken_as} If it was filmed at {filmed} and every picture kept, the fly sinks {time_base.conformed:.3g} times "
            "as fast: give --capture-rate."
        )
    if time_base.proved:
        return (
            f"{taken_as} The falls rule out slow motion, but not a clip slowed by less than a half: if yours was, give "
            "--capture-rate."
        )
    return f"{taken_as} If it was filmed in slow motion, give --capture-rate."


def _disputed(time_base: TimeBase) -> str:
    """Return between what a stated rate stands; empty where nothing speaks against it."""
    if time_base.tag_ratio is not None:
        return (
            f"Taken as filmed at {_rate(time_base)}, {_TAKEN[time_base.source]} {_rate(time_base, time_base.tag_ratio)}, by "
            f"which the fly would sink {time_base.tag_ratio:.3g} times as fast."
        )
    if time_base.flag != "rate-not-borne-out":
        return ""
    if time_base.stretch == 1:
        return (
            f"Taken as real time: {_rate(time_base)}, as {_SAID[time_base.source]}; the falls look as if the clip played at "
            "another speed."
        )
    times = f"{time_base.stretch:.3g} times"
    ask = "" if time_base.source is Source.TYPED else " If you know the rate, give --capture-rate."
    return (
        f"Taken as filmed at {_rate(time_base)} and played {times} slower, as {_SAID[time_base.source]}; if the clip plays "
        f"in real time, every speed here is {times} too fast.{ask}"
    )


def _rate(time_base: TimeBase, times: float = 1.0) -> str:
    return f"{time_base.rate_hz * times:.4g} frames a second"
