"""What a prediction rests on: the flies it was learned from, how well they were predicted themselves, which water."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.hydraulics.water import Water
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.speeds.learning import Contradicted, Learned
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
    return [
        *_rests_on(learned),
        *_beads(learned),
        *contradicted(learned.contradicted),
        *learned.remarks,
        *doubtful,
    ]


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


def contradicted(found: Sequence[Contradicted]) -> list[str]:
    """Return which weighings contradict the parts of their flies, and what became of them."""
    believed = [_weighed(one) for one in found if one.believed]
    wrong = [_weighed(one) for one in found if not one.believed]
    told = []
    if wrong:
        told.append(
            "A scale and the parts of a fly contradict each other, so next to nothing was learned from that weighing, and "
            f"flies on the same bead are in more doubt: {'; '.join(wrong)}. {_WEIGH_AGAIN}"
        )
    if believed:
        told.append(
            "A scale and the parts of a fly contradict each other, and the scale was believed: "
            f"{'; '.join(believed)}. {_WEIGH_AGAIN}"
        )
    return told


_WEIGH_AGAIN = (
    "Weigh such a fly again, wetted through and without a bubble. If it stays so, weigh ten such beads together and give the "
    "material that weight."
)


def _weighed(one: Contradicted) -> str:
    return f"{one.fly}, {one.weighed * 1e3:.3g} mN in water by the scale, {one.by_parts * 1e3:.3g} mN by its parts"


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
        "weighings_that_contradict_parts": [
            {
                "fly": one.fly,
                "weighed_n": one.weighed,
                "by_parts_n": one.by_parts,
                "chance_that_it_is_wrong": one.wrong,
            }
            for one in learned.contradicted
        ],
        "remarks": list(learned.remarks),
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
