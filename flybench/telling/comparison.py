"""Comparisons as lines for people and as machine form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flybench.jobs.sink.compare import Compared, Pair
from flybench.jobs.sink.compare_pictures import odds_text
from flybench.jobs.sink.one_change import Changed, MeanEffect, OneChange
from flybench.quantity import COVERAGE_FACTOR, rounded, speed_text
from flybench.shop.lineup import Lineup
from flybench.shop.pooling import FLY_SPREAD, RUN_SPREAD
from flybench.statistics.comparing import MOST, Comparison, Level, Need, Side
from flybench.telling.table import aligned

_CANCELS = {
    "one": "one set-up, as their sheets have it: scale, walls and thermometer cancel",
    "partly": "partly one set-up, so that scale, walls and thermometer cancel only in part",
    "different": "different set-ups, so nothing cancels",
}
_BLOCKED = {
    "runs": "soaking a fly anew makes more of a difference",
    "flies": "flies of one variant differ more among themselves",
    "set-up": "what the set-ups do not share (scale, walls, thermometer) is too large",
    "clip": "what each clip's scale leaves open is too large",
    "water": "taking one speed to the other's water leaves too much open",
}
_CURES = {
    "set-up": "measure both in one set-up",
    "clip": "film again with a better scale: flybench run show NUMBER has the budget",
    "water": "measure both in water of one temperature",
}
_NAMES = {Level.DROPS: ("drop", "drops"), Level.RUNS: ("run", "runs"), Level.FLIES: ("fly", "flies")}


def compared_lines(found: Compared) -> list[str]:
    """Return one pair in sentences, several as a table, and what should be known of them."""
    if len(found.pairs) == 1:
        lines = _sentences(found.pairs[0])
        lines += [f"  {line}" for line in _sides(found.lineup)]
    else:
        lines = _table(found)
    return [*lines, *_notes(found.lineup)]


def _sentences(pair: Pair) -> list[str]:
    found = pair.found
    faster, slower = found.one.code, found.other.code
    head = (
        f"{faster} sinks faster than {slower}"
        if found.told_apart
        else f"{faster} and {slower} cannot be told apart"
    )
    return [
        f"{head} (k = 2)",
        f"  difference  {speed_text(found.difference, found.expanded)}",
        f"  ratio       {_ratio(found)} times as fast",
        f"  odds        {odds_text(found.odds)} that {faster} is the faster",
        *([] if found.told_apart else [f"  to settle   {to_settle(found)}"]),
        f"  measured in {_CANCELS[pair.set_up]}{_differing(pair)}",
    ]


def _sides(lineup: Lineup) -> list[str]:
    return aligned([_side(side, lineup) for side in lineup.sides.values()], [False, True, True, False])


def _side(side: Side, lineup: Lineup) -> list[str]:
    kelvins = lineup.temperatures[side.code]
    warmth = f"{kelvins[0] - 273.15:.1f}" + (f" to {kelvins[-1] - 273.15:.1f}" if len(kelvins) > 1 else "")
    counts = [_counted(number, level) for level, number in sorted(side.counts.items(), reverse=True)]
    speed = " ± ".join(rounded(side.speed * 100, COVERAGE_FACTOR * side.uncertainty * 100))
    return [side.code, f"{speed} cm/s", f"{warmth} °C", ", ".join(counts)]


def _table(found: Compared) -> list[str]:
    rows = [["faster", "slower", "by cm/s", "times as fast", "odds", "told apart", "set-up", "to settle it"]]
    rows += [
        [
            pair.found.one.code,
            pair.found.other.code,
            " ± ".join(rounded(pair.found.difference * 100, pair.found.expanded * 100)),
            _ratio(pair.found),
            odds_text(pair.found.odds),
            "yes" if pair.found.told_apart else "no",
            pair.set_up,
            "" if pair.found.told_apart else to_settle(pair.found),
        ]
        for pair in found.pairs
    ]
    return aligned(rows, [False, False, True, True, True, False, False, False])


def to_settle(found: Comparison) -> str:
    """Return what would tell the two apart in four cases of five, or why more drops do not."""
    drops = found.needs.get(Level.DROPS, Need(None, False))
    ways = [_way(need, level) for level, need in found.needs.items() if need.ever and level > Level.DROPS]
    if drops.ever:
        return " or ".join([_way(drops, Level.DROPS), *ways])
    why = _BLOCKED.get(found.blocked_by, "they are too much alike")
    cures = [_CURES[found.blocked_by]] if found.blocked_by in _CURES else []
    would = " or ".join([*(cures or ([] if ways else _cures_at_last(found))), *ways])
    return f"no number of drops: {why}" + (f"; would: {would}" if would else "")


def _cures_at_last(found: Comparison) -> list[str]:
    """Return what to begin with where more of nothing settles it."""
    corrected = any(part.source == "water" for side in (found.one, found.other) for part in side.parts)
    apart = found.one.shared.keys() != found.other.shared.keys()
    names = ["water"] * corrected + ["set-up"] * (apart and not corrected)
    return [f"{_CURES[name]}, then soak anew and drop again" for name in names]


def _way(need: Need, level: Level) -> str:
    return _more(need.count, level) if need.count else f"over {_more(MOST[level], level)}"


def _more(count: int, level: Level) -> str:
    return f"{count} more {_NAMES[level][count != 1]} of each" + (
        ", soaked anew" if level is Level.RUNS else ""
    )


def _counted(count: int, level: Level) -> str:
    return f"{count} {_NAMES[level][count != 1]}"


def _ratio(found: Comparison) -> str:
    return " ± ".join(rounded(found.ratio, COVERAGE_FACTOR * found.ratio_uncertainty))


def _differing(pair: Pair) -> str:
    return f" (what differs: {', '.join(pair.differs)})" if pair.differs else ""


def _notes(lineup: Lineup) -> list[str]:
    lines = []
    if lineup.brought:
        lines.append(
            f"Not all were measured in one water: {', '.join(lineup.brought)} taken to "
            f"{lineup.water.temperature - 273.15:.1f} °C by the drag law, its doubt in the ±. Surer: drop all in one water."
        )
    sides = lineup.sides.values()
    lonely = [side.code for side in sides if side.counts.get(Level.FLIES, 0) == 1]
    if lonely:
        lines.append(
            f"One fly does not tell how flies of a variant differ: {_percent(FLY_SPREAD)} taken for {_few(lonely)}."
        )
    once = [side.code for side in sides if Level.FLIES not in side.counts and side.counts[Level.RUNS] == 1]
    if once:
        lines.append(
            f"One run does not tell what soaking anew does: {_percent(RUN_SPREAD)} taken for {_few(once)}."
        )
    return lines


def _few(codes: list[str]) -> str:
    return ", ".join(codes[:4]) + (f" and {len(codes) - 4} more" if len(codes) > 4 else "")


def change_lines(found: OneChange) -> list[str]:
    """Return the pairs of one change as a table, their mean, and what should be known of them."""
    rows = [["pattern", found.what, "variants", "times as fast", "odds faster", "told apart", "set-up"]]
    rows += [
        [
            one.pattern,
            one.change,
            f"{one.pair.found.other.code} → {one.pair.found.one.code}",
            _ratio(one.pair.found),
            odds_text(one.pair.found.odds),
            "yes" if one.pair.found.told_apart else "no",
            one.pair.set_up,
        ]
        for one in found.pairs
    ]
    lines = aligned(rows, [False, False, False, True, True, False, False])
    return [*lines, *_mean_lines(found), *_notes(found.lineup)]


def _mean_lines(found: OneChange) -> list[str]:
    if found.mean is None:
        return ["One pair alone: what it does on other patterns is not known."]
    lines = [_mean_line(mean) for mean in (*found.means, found.mean)]
    if len({one.change for one in found.pairs}) > 1:
        lines.append(
            "The pairs do not all change the same way, so the mean over all says little; a query narrows it."
        )
    return lines


def _mean_line(mean: MeanEffect) -> str:
    text = " ± ".join(rounded(mean.ratio, COVERAGE_FACTOR * mean.uncertainty))
    spread = (
        f"from pair to pair it varies by {_percent(mean.spread)} (standard deviation)"
        if mean.spread > 0
        else "from pair to pair it varies no more than their doubts explain"
    )
    over = f"{mean.of}, {mean.pairs} pairs" if mean.of else f"{mean.pairs} pairs"
    return f"Mean over {over}: {text} times as fast (k = 2); {spread}."


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %"


def compared_record(found: Compared) -> dict[str, Any]:
    """Return all pairs in machine form."""
    return {"pairs": [_pair_record(pair) for pair in found.pairs], **_lineup_record(found.lineup)}


def change_record(found: OneChange) -> dict[str, Any]:
    """Return one change in machine form."""
    mean = found.mean
    return {
        "change": found.what,
        "pairs": [_changed_record(one) for one in found.pairs],
        "means": [_mean_record(one) for one in found.means],
        "mean": None if mean is None else _mean_record(mean),
        **_lineup_record(found.lineup),
    }


def _mean_record(mean: MeanEffect) -> dict[str, Any]:
    return {
        "of": mean.of or None,
        "pairs": mean.pairs,
        "ratio": mean.ratio,
        "ratio_standard_uncertainty": mean.uncertainty,
        "between_pairs": mean.spread,
    }


def _changed_record(one: Changed) -> dict[str, Any]:
    told = {"pattern": one.pattern, "before": one.before, "after": one.after}
    return {**told, **_pair_record(one.pair, ("to", "from"))}


def _pair_record(pair: Pair, names: tuple[str, str] = ("faster", "slower")) -> dict[str, Any]:
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
        "set_up": pair.set_up,
        "set_up_differs": list(pair.differs),
        "more_of_each": _needs_record(found.needs),
        "drops_blocked_by": None if found.told_apart else found.blocked_by or None,
    }


def _needs_record(needs: Mapping[Level, Need]) -> dict[str, Any] | None:
    if not needs:
        return None
    return {
        _NAMES[level][1]: {"count": need.count, "endlessly_many_would": need.ever}
        for level, need in needs.items()
    }


def _lineup_record(lineup: Lineup) -> dict[str, Any]:
    return {
        "water": {"temperature_k": lineup.water.temperature, "salinity": lineup.water.salinity},
        "sides": [
            {
                "code": side.code,
                "sink_speed_m_s": side.speed,
                "standard_uncertainty_m_s": side.uncertainty,
                **{_NAMES[level][1]: number for level, number in side.counts.items()},
                "measured_temperatures_k": list(lineup.temperatures[side.code]),
                "brought_to_water": side.code in lineup.brought,
            }
            for side in lineup.sides.values()
        ],
    }
