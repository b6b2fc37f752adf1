"""What of a run's doubt other runs share, and which runs do: each error is shared by those that have it from one thing.

Distance, tilt and fall plane are set anew each time the tank is put up: one error for the runs of one evening in one set-up,
filmed that day (measured that day, where no file says when it was filmed). The size of the print is one error for all that
were filmed before one card, on whatever evening: that of a set-up of this name, where it has one. Clock and readout belong
to the camera, what the formulas of the walls leave open to the tank, and the reading of the temperature to the thermometer.
How wide a fly is to the walls, and how the water that it drags along answers, is each fly's own; the corners of the card are
read in each clip anew. Of runs timed by hand, the marks are one error for those of one evening over the same distance, the
hand for one evening, and how soon a fly comes to its speed is each fly's own.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from flybench.bench.sheet.settings import TEMPERATURE_UNCERTAINTY
from flybench.catalog.shelf.run_records import RunSpeed
from flybench.errors import BadValueError
from flybench.hydraulics.sphere import drag_slope
from flybench.hydraulics.water import Water
from flybench.quantity import parse_with_uncertainty

Shared = tuple[str, str]
"""What an error comes from ("clip", "fly", "card", "camera", "tank", "thermometer", "set-up", "marks", "hand"), and which
one of them."""
OWN_OF_CLIP = ("reading the track", "drop-to-drop spread")
"""Lines of the budget of a filmed run that another run of the same fly does not share."""
OWN_BY_HAND = ("pressing the watch", "drop-to-drop spread")
"""The same where it was timed by hand."""
_FROM = {
    "card corners": "clip",
    "scale points": "clip",
    "squeezed picture": "clip",
    "vertical": "clip",
    "part of the clip in slow motion": "clip",
    "speed changing on the way down": "clip",
    "sway of the phone": "clip",
    "picture larger or smaller for a moment": "clip",
    "picture that the points are of": "clip",
    "shape of the picture": "clip",
    "history force": "fly",
    "print size of the card": "card",
    "length between the points": "card",
    "time base": "camera",
    "rolling shutter": "camera",
    "lens of the round column": "tank",
    "coming to speed": "fly",
}
"""What each line of the budget comes from; those not named here are set anew each evening."""
_BY_HAND = {"distance": "marks", "run-up before the start": "marks", "reaction time": "hand"}
"""What lines of the budget come from where the fly was timed by hand."""
_WIDTH_POWER, _WIDTH_DOUBT = 2.0, 0.4
"""Power with which the walls' effect goes with the width of the fly [-], and what that width is uncertain by, as
``bench.verdict.free_water`` has it for a fly that was not weighed (judgement)."""
_USUAL_WIDTH = 3e-3
"""Width of a fly for the Reynolds number at which its speed answers to the temperature [m] (judgement: any of a few
millimetres does, as the answer goes with its logarithm)."""
_DIGEST = 10
"""Bytes of the short text that stands for a thing [-]: of 10^9 things two are alike once in a million shops (the birthday
rule: n^2 / 2 over 256^10)."""
_FLIES_KEPT = 1 << 16
"""Flies of which the short text is remembered [-] (judgement)."""
LEAST_OWN = 1e-4
"""Least own part of a run, as a share of the speed: no reading is exact, and weights need one (judgement)."""


def parts_of_doubt(run: RunSpeed) -> tuple[float, dict[Shared, float]]:
    """Return the relative standard uncertainty of a run's speed that is its own, and what it shares, by what shares it.

    Where it is not known what is shared, all of it is taken for another error in each fly.
    """
    whole = run.uncertainty / run.speed
    if run.shared is None:
        return LEAST_OWN, {own_of_fly(run.fly): whole}
    shared = min(run.shared, run.uncertainty) / run.speed
    own = max(math.sqrt(max(whole**2 - shared**2, 0.0)), LEAST_OWN)
    return own, _apart(run, shared)


def _apart(run: RunSpeed, shared: float) -> dict[Shared, float]:
    """Split a shared doubt by what shares it; squares add up to its own."""
    squares: dict[str, float] = {}
    from_what = {**_FROM, **(_BY_HAND if "timed" in run.sheet else {})}
    for line in run.budget:
        if line["source"] not in (*OWN_OF_CLIP, *OWN_BY_HAND):
            source = from_what.get(line["source"], "set-up")
            size = line["standard_uncertainty_m_s"] / run.tank_speed
            squares[source] = squares.get(source, 0.0) + size**2
    told = sum(squares.values())
    if told > shared**2:
        squares = {source: square * shared**2 / told for source, square in squares.items()}
    left = max(shared**2 - told, 0.0)
    for source, square in _beside_the_budget(run, left).items():
        squares[source] = squares.get(source, 0.0) + square
    return {
        (source, whose(run, source)): math.sqrt(square) for source, square in squares.items() if square > 0.0
    }


def _beside_the_budget(run: RunSpeed, left: float) -> dict[str, float]:
    """Split what the step to free water added, a relative variance: the fly's width to the walls, thermometer, the tank."""
    if not run.budget:
        return {"set-up": left}
    slowed = max(run.speed / run.tank_speed - 1.0, 0.0)
    width = min((_WIDTH_POWER * _WIDTH_DOUBT * slowed) ** 2, left)
    warmth = min(_warmth(run) ** 2, left - width)
    return {"fly": width, "thermometer": warmth, "tank": left - width - warmth}


def _warmth(run: RunSpeed) -> float:
    """Return the relative change of speed for one standard uncertainty of the temperature [-]."""
    here, there = (Water(kelvin).kinematic_viscosity for kelvin in (run.temperature, run.temperature + 0.1))
    n = float(drag_slope(run.speed * _USUAL_WIDTH / here))
    return abs(n / (2.0 + n) * math.log(there / here) / 0.1) * _temperature_doubt(run.sheet)


def _temperature_doubt(sheet: Mapping[str, Any]) -> float:
    """Return the standard uncertainty of the temperature [K] as the sheet has it, else the usual one."""
    try:
        _, doubt = parse_with_uncertainty(
            str(sheet.get("water", {}).get("temperature", "")), "K", "water.temperature"
        )
    except BadValueError:
        return TEMPERATURE_UNCERTAINTY
    return TEMPERATURE_UNCERTAINTY if doubt is None else doubt


def whose(run: RunSpeed, source: str) -> str:
    """Return which of what the source names it was, as a short text: equal ones are one thing."""
    tables = {name: run.sheet.get(name) or {} for name in ("tank", "camera", "scale", "timed")}
    scale, timed, day = tables["scale"], tables["timed"], run.day.isoformat()
    which: Mapping[str, Sequence[Any]] = {
        "clip": (run.clip or run.number,),
        "fly": (run.fly,),
        "card": (run.place, scale.get("card"), scale.get("bar"), scale.get("length")),
        "camera": (tables["camera"].get("capture_rate"), tables["camera"].get("readout"), *run.picture),
        "tank": (tables["tank"],),
        "thermometer": (),
        "set-up": (day, run.place, tables["tank"], tables["camera"], scale, run.picture),
        "marks": (day, timed.get("distance"), timed.get("run_up")),
        "hand": (day,),
    }
    return _short(which[source])


@lru_cache(maxsize=_FLIES_KEPT)
def own_of_fly(code: str) -> Shared:
    """Return the thing that all errors come from which are a fly's own."""
    return "fly", _short((code,))


def _short(what: Sequence[Any]) -> str:
    """Return a text that stands for what tells things apart: of a thousand million things no two are likely alike."""
    written = json.dumps(what, sort_keys=True, default=str)
    return hashlib.blake2b(written.encode(), digest_size=_DIGEST).hexdigest()
