"""What one change does: the pairs as a table, their mean, and machine form."""

from __future__ import annotations

from typing import Any

from flybench.charts.comparison import odds_text
from flybench.shop.speeds.one_change import Changed, MeanEffect, OneChange
from flybench.telling.numbers import percent, plus_minus
from flybench.telling.sink import comparison
from flybench.telling.table import fitted, paragraph


def lines(found: OneChange) -> list[str]:
    """Return the pairs of one change as a table, their mean, and what should be known of them."""
    rows = [["pattern", found.what, "times as fast", "odds", "apart"]]
    rows += [
        [
            one.pattern,
            one.change,
            comparison.ratio_text(one.pair.found),
            odds_text(one.pair.found.odds),
            "yes" if one.pair.found.told_apart else "no",
        ]
        for one in found.pairs
    ]
    table = fitted(rows, [False, False, True, True, False])
    variants = [f"{one.pair.found.other.code} → {one.pair.found.one.code}" for one in found.pairs]
    about = [
        f"The variants, in that order: {'; '.join(variants)}.",
        "Odds: that it is the faster one after the change. Apart: whether the speeds differ by more than the expanded "
        "uncertainty of their difference (k = 2).",
        *_mean_lines(found),
        *comparison.remarks(found.flies),
    ]
    return [*table, "", *map(paragraph, about)]


def _mean_lines(found: OneChange) -> list[str]:
    if found.mean is None:
        return ["This is one pair alone, so nobody knows what the change does on other patterns."]
    means = [_mean_line(mean) for mean in (*found.means, found.mean)]
    if len({one.change for one in found.pairs}) > 1:
        means.append(
            "The pairs do not all change in the same way, so the mean over all says little. A query narrows them."
        )
    return means


def _mean_line(mean: MeanEffect) -> str:
    spread = (
        f"from pair to pair it varies by {percent(mean.spread, 1)} (standard deviation)"
        if mean.spread > 0
        else "from pair to pair it varies no more than their doubts explain"
    )
    over = f"{mean.of}, {mean.pairs} pairs" if mean.of else f"{mean.pairs} pairs"
    return f"Mean over {over}: {plus_minus(mean.ratio, mean.uncertainty)} times as fast (k = 2); {spread}."


def record(found: OneChange) -> dict[str, Any]:
    """Return one change in machine form."""
    mean = found.mean
    return {
        "change": found.what,
        "pairs": [_changed_record(one) for one in found.pairs],
        "means": [_mean_record(one) for one in found.means],
        "mean": None if mean is None else _mean_record(mean),
        **comparison.sides_record(found.flies),
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
    change = {"pattern": one.pattern, "before": one.before, "after": one.after}
    return {**change, **comparison.pair_record(one.pair, ("to", "from"))}
