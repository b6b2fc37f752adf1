"""What one change does: pairs that differ in one thing, and the mean over them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from changed_variants import family
from compared import side
from invented_runs import add_run

from flybench.catalog.store.open import Catalog
from flybench.cli.sink.compare import CHANGES as OFFERED
from flybench.errors import FlybenchError
from flybench.jobs.sink.compare import one_change
from flybench.shop.speeds.one_change import CHANGES, Changed, mean_effect
from flybench.statistics.comparing import Comparison, compare


def test_the_command_offers_the_changes_that_there_are() -> None:
    assert tuple(CHANGES) == OFFERED


@pytest.mark.slow
@pytest.mark.parametrize(
    ("what", "pairs"),
    [
        (
            "bead",
            [
                ("BARE", "SMALL", "no bead", "B24"),
                ("MILL-24-16", "HOOK", "B24", "B28"),
                ("SMALL", "MILL-28-14", "B24", "B28"),
            ],
        ),
        (
            "hackle",
            [
                ("MILL-24-16", "TWICE", "HEN 2 turn", "HEN 4 turn"),
                ("MILL-28-14", "THICK", "HEN 2 turn", "HEN 4 turn"),
            ],
        ),
        ("resin", [("RAW", "MILL-28-14", "no resin", "LACK 1 drop")]),
        ("hook", [("HOOK", "MILL-28-14", "H16", "H14"), ("MILL-24-16", "SMALL", "H16", "H14")]),
    ],
)
def test_pairs_differ_in_that_one_thing(
    catalog: Catalog, what: str, pairs: list[tuple[str, str, str, str]]
) -> None:
    family(catalog)
    found = one_change(catalog, what)
    told = [
        (one.pair.found.other.code, one.pair.found.one.code, one.before, one.after) for one in found.pairs
    ]
    assert sorted(told) == pairs
    assert (found.mean is None) == (len(pairs) == 1)


def test_the_mean_over_pairs_is_that_of_random_effects(catalog: Catalog) -> None:
    """By hand, equal doubts: the mean of logarithms; ratios 1.20 and 1.30 within their doubts, so no spread found."""
    family(catalog)
    found = one_change(catalog, "bead", ["bead:2.4..2.8"])
    ratios = [one.pair.found.ratio for one in found.pairs]
    assert found.mean is not None
    assert min(ratios) < found.mean.ratio < max(ratios)
    assert found.mean.spread == 0.0
    assert found.mean.uncertainty < max(one.pair.found.ratio_uncertainty for one in found.pairs)


def test_the_mean_holds_over_patterns_that_answer_differently() -> None:
    held = []
    for seed in range(300):
        random = np.random.default_rng(seed)
        pairs = []
        for _ in range(4):
            true = np.log(1.15) + random.normal(0, 0.03)
            ratio = float(np.exp(true + random.normal(0, 0.02)))
            found = compare(side(0.3 * ratio, {}, 0.3 * 0.02), side(0.3, {}, 1e-9))
            pairs.append(Changed("p", "less", "more", _Paired(found)))  # type: ignore[arg-type]
        mean = mean_effect(pairs)
        assert mean is not None
        held.append(abs(mean.ratio - 1.15) <= 2 * mean.uncertainty)
    assert 0.90 <= np.mean(held) <= 0.99


@dataclass
class _Paired:
    found: Comparison


def test_no_such_pair_is_said_so(catalog: Catalog) -> None:
    with pytest.raises(FlybenchError) as none:
        one_change(catalog, "bead")
    assert str(none.value) == (
        "No variant in the catalog was measured, and a comparison takes two. Measure flies of more variants: "
        "flybench bench measure CLIP --fly CODE"
    )
    add_run(catalog, "M1", 0.3, 1)
    add_run(catalog, "A1", 0.2, 2)
    with pytest.raises(FlybenchError) as told:
        one_change(catalog, "hackle")
    assert str(told.value) == (
        "Of the 2 measured variants in the catalog no two of one pattern differ in the hackle alone. Tie one that is "
        "like another but for its hackle, drop both, and compare again."
    )
