"""What a prediction rests on: the flies it was learned from, how well they were predicted themselves, which water."""

from __future__ import annotations

from typing import Any

from flybench.hydraulics.water import Water
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.speeds.learning import Learned
from flybench.telling.numbers import percent, temperature_text
from flybench.telling.wording import counted

_WHY = {
    "as given": "as given",
    "as the flies were measured in": "that of the measured flies, as no --temperature was given",
    "assumed": "assumed, as no --temperature was given and no fly was measured",
}
"""How the water was come by, in words."""


def lines(learned: Learned) -> list[str]:
    """Return in sentences what predictions rest on."""
    doubtful = [
        f"{fly} would drag less than its bead alone, which cannot be, so nothing was learned from it. Weigh it again."
        for fly in learned.doubtful
    ]
    return [*_rests_on(learned), *_beads(learned), *doubtful]


def _beads(learned: Learned) -> list[str]:
    """Return which beads weigh more or less than their size and metal say, beyond doubt."""
    told = [
        f"{one.code} by {percent(abs(one.heavier))} ± {percent(COVERAGE_FACTOR * one.uncertainty)} "
        f"{'more' if one.heavier > 0 else 'less'}"
        for one in learned.packets
        if one.clear
    ]
    if not told:
        return []
    return [
        f"Weighed flies show that these beads weigh in water otherwise than their size and metal say, which is counted "
        f"in: {', '.join(told)} (k = 2)."
    ]


def _rests_on(learned: Learned) -> list[str]:
    if learned.flies == 0:
        return [
            "No measured fly with a known weight was found, so this rests on physics and usual dressings alone "
            "(judgement). Measure some flies and weigh them."
        ]
    flies = counted(learned.flies, "measured fly", "measured flies")
    first = f"Learned from {flies} of known weight, of {counted(learned.variants, 'variant')}."
    found = learned.left_out
    if found is None:
        return [
            f"{first} With fewer than four variants it cannot be tested how far such predictions go astray."
        ]
    return [
        f"{first} Each of the {found.variants} variants was predicted from the others as a test: the predictions were "
        f"off by {percent(found.rms)} (root mean square), and {percent(found.inside)} of the flies lay within their "
        "95 % interval."
    ]


def record(learned: Learned) -> dict[str, Any]:
    """Return the same in machine form."""
    found = learned.left_out
    return {
        "flies": learned.flies,
        "not_learned_from": learned.doubtful,
        "beads": [
            {"code": one.code, "heavier": one.heavier, "standard_uncertainty": one.uncertainty}
            for one in learned.packets
        ],
        "left_out": None
        if found is None
        else {"variants": found.variants, "rms": found.rms, "bias": found.bias, "inside": found.inside},
    }


def water_line(water: Water, water_from: str) -> str:
    """Return which water was reckoned with and why."""
    salt = f" with {water.salinity * 1e3:g} g/kg of salt" if water.salinity else ""
    return f"The water is {temperature_text(water.temperature)}{salt} ({_WHY[water_from]})."


def water_record(water: Water) -> dict[str, float]:
    """Return water in machine form."""
    return {"temperature_k": water.temperature, "salinity": water.salinity}
