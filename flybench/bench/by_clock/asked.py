"""What was timed as a user writes it: a distance, times off a watch, and a run-up, checked and in SI units."""

from __future__ import annotations

import re
from collections.abc import Sequence

from flybench.bench.by_clock.timed import Timing
from flybench.errors import BadValueError
from flybench.quantity import Measured, parse_inside, parse_inside_with_uncertainty

DISTANCE, RUN_UP = (0.1, 5.0), (0.0, 2.0)
"""Distances and run-ups that are taken [m]: shorter ones are over before a thumb moves; no tank is deeper (judgement)."""
TIMES = (0.3, 120.0)
"""Times that are taken [s] (judgement)."""
DISTANCE_UNCERTAINTY = 0.005
"""Standard uncertainty of a distance between two marks on a tank [m]: +-10 mm, k = 2, marks and the eye before them
(judgement)."""
MOST_TIMES = 50
"""Most times that are taken at once [-] (judgement)."""
_DISAGREE = 1.5
"""Longest over shortest time from which one was pressed wrongly [-] (judgement)."""
_MINUTES = re.compile(r"\s*(\d+):(\d+(?:\.\d+)?)\s*")
_NUMBER = re.compile(r"\s*\d+(?:\.(\d+))?")


def read_timing(distance: str, times: Sequence[str], run_up: str | None = None) -> Timing:
    """Return what was timed. Raises BadValueError naming the option or the times."""
    length = _length(distance, "--distance", DISTANCE, "60 cm +- 1 cm")
    start = None if run_up is None else _length(run_up, "--run-up", RUN_UP, "10 cm")
    if not 1 <= len(times) <= MOST_TIMES:
        raise BadValueError(
            "times", f"{len(times)} were given", f"Give 1 to {MOST_TIMES}, such as 2.1 2.2 2.0"
        )
    read = [_time(text) for text in times]
    if max(read) > _DISAGREE * min(read):
        raise BadValueError(
            "times",
            f"{min(read):g} s and {max(read):g} s are too different to be of one fly",
            "Leave out the one that was pressed wrongly, or time each fly by itself",
        )
    return Timing(length, read, max(_step(text) for text in times), start or Measured(0.0, 0.0))


def _length(text: str, key: str, limits: tuple[float, float], example: str) -> Measured:
    cure = (
        "Give the distance between the two marks"
        if key == "--distance"
        else "Give how far it fell before the first mark"
    )
    value, spread = parse_inside_with_uncertainty(text, "m", key, *limits, f"{cure}.", example=example)
    standard = DISTANCE_UNCERTAINTY if spread is None else spread
    if spread is not None and 2.0 * spread > value:
        raise BadValueError(
            key, f'"{text}" has an uncertainty larger than the value itself', f'Write it as "{example}"'
        )
    return Measured(value, standard)


def _time(text: str) -> float:
    minutes = _MINUTES.fullmatch(text)
    if minutes:
        seconds = f"{60 * int(minutes[1]) + float(minutes[2]):g} for {minutes[1]} min {minutes[2]} s"
        point = (
            "" if "." in text else f", or {text.strip().replace(':', '.')} if the colon stands for a point"
        )
        raise BadValueError("times", f'"{text}" has a colon', f"Write seconds alone: {seconds}{point}")
    written = text if re.search(r"[a-zA-Z]", text) else f"{text} s"
    return parse_inside(
        written, "s", "times", *TIMES, "Give what the watch showed, in seconds.", example="2.1 s"
    )


def _step(text: str) -> float:
    """Return the step of the watch [s]: the last digit that was written, never below a hundredth."""
    match = _NUMBER.match(text)
    places = 0 if match is None or match[1] is None else len(match[1])
    return 10.0 ** -min(places, 2)
