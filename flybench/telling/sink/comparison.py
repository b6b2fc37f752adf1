"""Comparisons of measured flies: sentences, tables and machine form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Any

from flybench.charts.comparison import odds_text
from flybench.rounding import speed_text
from flybench.shop.speeds.compared_flies import Compared, ComparedFlies, Pair
from flybench.shop.speeds.shop_spreads import USUAL_FLIES, USUAL_RUNS
from flybench.statistics.comparing import ALIKE, MOST, Comparison, Need, Repeat, Side
from flybench.statistics.spread import Spread
from flybench.telling.numbers import percent, plus_minus, temperature_text
from flybench.telling.sink import learning, one_water
from flybench.telling.table import aligned, fitted, paragraph
from flybench.telling.wording import few, listed

_SET_UP = {
    "one": "one set-up on one evening, as their sheets say",
    "partly": "partly one set-up on one evening",
    "different": "different set-ups or on different evenings",
}
_CANCELS = {
    "card": "what the card's print is off by",
    "camera": "the camera's clock",
    "set-up": "distance, tilt and fall plane",
    "marks": "the distance that was timed over",
    "hand": "the hand at the watch",
    "tank": "what nobody knows of the tank's walls",
    "thermometer": "the thermometer",
}
"""What two speeds may have an error from alike, so that it is no doubt of which is faster."""
_BLOCKED = {
    "runs": "a fly that is soaked and dropped another day sinks a little differently, and that is the larger doubt",
    "flies": "flies of one variant differ among themselves, and that is the larger doubt",
    "set-up": "scale, walls and thermometer may be off by different amounts for the two, and that is the larger doubt",
    "walls": "what each fly's width to the tank's walls does is the larger doubt",
    "clip": "what each clip's scale may be off by is the larger doubt",
    "water": "what is not known of taking one speed to the other's water is the larger doubt",
}
_CURES = {
    "set-up": "measuring both in one set-up on one evening",
    "walls": "a wider tank",
    "clip": "filming again with a better scale (flybench run show NUMBER lists what the doubt is made of)",
    "water": "measuring both in water of one temperature",
}
_NAMES = {Repeat.DROPS: ("drop", "drops"), Repeat.RUNS: ("run", "runs"), Repeat.FLIES: ("fly", "flies")}
_SHOWN = 4
"""Codes named in a note (judgement)."""


def lines(found: Compared) -> list[str]:
    """Return one pair in sentences, several as a table, and what should be known of them."""
    lines = _sentences(found.pairs[0], found.flies) if len(found.pairs) == 1 else _table(found)
    return [*lines, *map(paragraph, remarks(found.flies))]


def _sentences(pair: Pair, flies: ComparedFlies) -> list[str]:
    found = pair.found
    faster, slower = found.one.code, found.other.code
    head = f"{faster} and {slower} cannot be told apart (k = 2)."
    if found.told_apart:
        head = f"{faster} sinks faster than {slower} (k = 2)."
    elif found.alike:
        head = f"{faster} and {slower} are alike: no more than {percent(ALIKE, 0)} apart (k = 2)."
    facts = [
        ("difference", speed_text(found.difference, found.expanded)),
        ("ratio", f"{faster} is {ratio_text(found)} times as fast"),
        ("odds", f"{odds_text(found.odds)} that {faster} is the faster one"),
        *([("to settle it", to_settle(found))] if found.needs else []),
        ("measured in", f"{_SET_UP[pair.set_up]}{_differing(pair)}; {_cancelling(pair.cancels)}"),
    ]
    sides = aligned([_side(side, flies) for side in flies.sides.values()], [False, True, True, False])
    return [
        head,
        *(paragraph(text, f"  {name:<12}  ", " " * 16) for name, text in facts),
        *(f"  {side}" for side in sides),
    ]


def _side(side: Side, flies: ComparedFlies) -> list[str]:
    kelvins = flies.temperatures[side.code]
    warmth = temperature_text(kelvins[0]) + (
        f" to {temperature_text(kelvins[-1])}" if len(kelvins) > 1 else ""
    )
    counts = [_counted(number, level) for level, number in sorted(side.counts.items(), reverse=True)]
    return [side.code, f"{plus_minus(side.speed, side.uncertainty, 100)} cm/s", warmth, ", ".join(counts)]


def _table(found: Compared) -> list[str]:
    rows = [["faster", "slower", "by cm/s", "times as fast", "odds", "apart"]]
    rows += [
        [
            pair.found.one.code,
            pair.found.other.code,
            plus_minus(pair.found.difference, pair.found.uncertainty, 100),
            ratio_text(pair.found),
            odds_text(pair.found.odds),
            "alike" if pair.found.alike else "yes" if pair.found.told_apart else "no",
        ]
        for pair in found.pairs
    ]
    lines = [
        *fitted(rows, [False, False, True, True, True, False]),
        "",
        *map(paragraph, _set_up_notes(found)),
    ]
    for pair in found.pairs:
        if pair.found.needs:
            names = f"{pair.found.one.code} and {pair.found.other.code}"
            lines.append(paragraph(f"To settle {names}: {to_settle(pair.found)}.", "", "  "))
    return lines


def _set_up_notes(found: Compared) -> list[str]:
    """Return what cancels in which pairs, in as few words as there are cases."""
    notes = [
        "Apart: whether the speeds differ by more than the expanded uncertainty of their difference (k = 2); alike: "
        f"whether they are no more than {percent(ALIKE, 0)} apart (k = 2)."
    ]
    alike: dict[str, list[str]] = {}
    for pair in found.pairs:
        how = f"measured in {_SET_UP[pair.set_up]}; {_cancelling(pair.cancels)}"
        alike.setdefault(how, []).append(f"{pair.found.one.code} and {pair.found.other.code}")
    for how, pairs in alike.items():
        which = "All" if len(pairs) == len(found.pairs) else few(pairs, _SHOWN)
        notes.append(f"{which}: {how}.")
    return notes


def _cancelling(names: Sequence[str]) -> str:
    """Return what is off by the same in both speeds, and so does not matter here."""
    what = [_CANCELS[name] for name in _CANCELS if name in names]
    return f"both have the same error from {listed(what)}, which cancels" if what else "no error cancels"


def to_settle(found: Comparison) -> str:
    """Return what would tell the two apart, or show them alike, in four cases of five, or why more drops do not."""
    drops = found.needs.get(Repeat.DROPS, Need(None, False))
    ways = [_way(need, level) for level, need in found.needs.items() if need.ever and level > Repeat.DROPS]
    if drops.ever:
        return f"{', or '.join([_way(drops, Repeat.DROPS), *ways])}{_or_alike(found)}"
    why = _BLOCKED.get(found.blocked_by, "they are too much alike")
    cures = [_CURES[found.blocked_by]] if found.blocked_by in _CURES else []
    would = ", or ".join([*(cures or ([] if ways else _cures_at_last(found))), *ways])
    return f"no number of drops will do, as {why}" + (
        f"; what would do is {would}{_or_alike(found)}" if would else ""
    )


def _or_alike(found: Comparison) -> str:
    """Return that what settles it may show the two alike, where that counts."""
    if found.beforehand is None:
        return ""
    return f" (they are then told apart, or shown to be alike: no more than {percent(ALIKE, 0)} apart)"


def _cures_at_last(found: Comparison) -> list[str]:
    """Return what to begin with where more of nothing settles it."""
    corrected = any(part.source == "water" for side in (found.one, found.other) for part in side.parts)
    apart = found.one.shared.keys() != found.other.shared.keys()
    names = ["water"] * corrected + ["set-up"] * (apart and not corrected)
    return [f"{_CURES[name]}, and then more runs" for name in names]


def _way(need: Need, level: Repeat) -> str:
    return _more(str(need.count), level) if need.count else _too_many(level)


def _more(count: str, level: Repeat) -> str:
    if level is Repeat.RUNS:
        return f"measuring each {count} more {'time' if count == '1' else 'times'}, soaked and dropped anew"
    return f"{count} more {_NAMES[level][count != '1']} of each"


def _too_many(level: Repeat) -> str:
    """Return what would do in the end, though nobody will take so many."""
    return f"{_more(f'over {MOST[level]}', level)}, which is hardly worth the work"


def _counted(count: int, level: Repeat) -> str:
    return f"{count} {_NAMES[level][count != 1]}"


def ratio_text(found: Comparison) -> str:
    """Return how many times as fast the one sinks as the other."""
    return plus_minus(found.ratio, found.ratio_uncertainty)


def _differing(pair: Pair) -> str:
    return f" (what differs: {', '.join(pair.differs)})" if pair.differs else ""


def remarks(flies: ComparedFlies) -> list[str]:
    """Return what was done or assumed for a comparison."""
    lines = []
    if flies.brought:
        there = one_water.water_text(flies.water)
        lines.append(
            f"Not all were measured in the same water: {listed(flies.brought)} taken to {there} by the "
            "drag law, and its doubt is in the ±. To be surer, drop all in the same water."
        )
    lines += [
        f"{one} and {other} have a clip in common, which tells nothing of how they differ. Film each by itself."
        for one, other in combinations(flies.sides, 2)
        if flies.of_one_clip(one, other)
    ]
    sides = flies.sides.values()
    runs, of_flies = flies.spreads.runs, flies.spreads.flies
    lonely = [side.code for side in sides if side.counts.get(Repeat.FLIES, 0) == 1]
    if lonely:
        lines.append(
            _taken("One fly does not show how much flies of a variant differ", of_flies, USUAL_FLIES, lonely)
        )
    once = [
        side.code
        for side in sides
        if Repeat.FLIES not in side.counts
        and side.counts[Repeat.RUNS] == 1
        and any(part.source == "runs" for part in side.parts)
    ]
    if once:
        lines.append(_taken("One run does not show how much runs of a fly differ", runs, USUAL_RUNS, once))
    return lines


def _taken(why: str, spread: Spread, usual: Spread, codes: list[str]) -> str:
    """Return which spread was taken for what does not show its own."""
    size = percent(spread.size, 1)
    if spread == usual:
        return f"{why}, so {size} was assumed for {few(codes, _SHOWN)}."
    return f"{why}, so {size} was taken for {few(codes, _SHOWN)}, as much as this shop's others differ."


def record(found: Compared) -> dict[str, Any]:
    """Return all pairs in machine form."""
    return {"pairs": [pair_record(pair) for pair in found.pairs], **sides_record(found.flies)}


def pair_record(pair: Pair, names: tuple[str, str] = ("faster", "slower")) -> dict[str, Any]:
    """Return a pair in machine form, its sides under ``names``."""
    found = pair.found
    return {
        names[0]: found.one.code,
        names[1]: found.other.code,
        "difference_m_s": found.difference,
        "difference_standard_uncertainty_m_s": found.uncertainty,
        "ratio": found.ratio,
        "ratio_standard_uncertainty": found.ratio_uncertainty,
        "odds_first_faster": found.odds,
        "degrees_of_freedom": found.freedom,
        "told_apart": found.told_apart,
        "alike": found.alike,
        "set_up": pair.set_up,
        "set_up_differs": list(pair.differs),
        "cancels": list(pair.cancels),
        "more_of_each": _needs_record(found.needs),
        "drops_blocked_by": None if found.told_apart else found.blocked_by or None,
    }


def _needs_record(needs: Mapping[Repeat, Need]) -> dict[str, Any] | None:
    if not needs:
        return None
    return {
        _NAMES[repeat][1]: {"count": need.count, "endlessly_many_would": need.ever}
        for repeat, need in needs.items()
    }


def sides_record(flies: ComparedFlies) -> dict[str, Any]:
    """Return what is compared, and the water it was brought to, in machine form."""
    return {
        "water": learning.water_record(flies.water),
        "sides": [
            {
                "code": side.code,
                "sink_speed_m_s": side.speed,
                "standard_uncertainty_m_s": side.uncertainty,
                **{_NAMES[repeat][1]: number for repeat, number in side.counts.items()},
                "measured_temperatures_k": list(flies.temperatures[side.code]),
                "brought_to_water": side.code in flies.brought,
            }
            for side in flies.sides.values()
        ],
    }
