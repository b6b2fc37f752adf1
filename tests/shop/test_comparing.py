"""Comparing measured flies: intervals, odds and promises against simulated truth; pairs of the catalog.

Flies, codes and numbers are invented. The simulated truth is drawn here, drop by drop; nothing of it comes from the
product's own formulas.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from console import flybench
from invented_runs import SHEET, add_run
from shop import measured, shop

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Step, Variant, VariantChange
from flybench.catalog.tables.vocabulary import MaterialKind, Part, Unit
from flybench.charts.comparison import odds_text
from flybench.cli.sink.compare import CHANGES as OFFERED
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.sink.compare import compare_measured, one_change
from flybench.shop.speeds.one_change import CHANGES, Changed, mean_effect
from flybench.shop.speeds.sides import FlyRuns, RunParts, fly_side, variant_side
from flybench.statistics.comparing import Comparison, DoubtPart, Repeat, Side, compare

Capture = pytest.CaptureFixture[str]
READING, SHARED = 0.004, 0.008
TWO_OR_MORE = (
    "Name two or more, as in flybench sink compare A B, or compare all that differ in one thing: flybench sink compare "
    "--change bead."
)


@dataclass
class Tied:
    """A simulated fly: its true speed [m/s], its true spreads, and the drops of each run."""

    truth: float
    drop_spread: float
    run_spread: float
    random: np.random.Generator
    runs: list[tuple[float, list[float]]] = field(default_factory=list)

    def run(self, drops: int) -> None:
        """Soak it once more and drop it."""
        self.runs.append((self.truth * (1 + self.random.normal(0, self.run_spread)), []))
        for _ in range(drops):
            self.drop(len(self.runs) - 1)

    def drop(self, run: int) -> None:
        here, drops = self.runs[run]
        drops.append(
            here * (1 + self.random.normal(0, self.drop_spread)) * (1 + self.random.normal(0, READING))
        )

    def measured(self, off: float, set_up: int, code: str = "f") -> FlyRuns:
        """Return the fly as measured with a scale that is ``off``."""
        found = []
        for _, drops in self.runs:
            pooled = pool_drops(np.array(drops), READING * np.array(drops))
            own = pooled.standard_uncertainty / pooled.value
            found.append(
                RunParts(code, pooled.value * (1 + off), own, 0.0, SHARED, set_up, 291.0, len(drops))
            )
        return FlyRuns(code, tuple(found))


def simulated(seed: int, runs: int, drops: int, gap: float) -> tuple[Tied, Tied]:
    """Return two flies whose speeds differ by up to ``gap`` either way, with spreads as drawn."""
    random = np.random.default_rng(seed)
    drop_spread, run_spread = np.exp(random.normal(np.log(0.013), 0.4, 2))
    truths = 0.3, 0.3 * float(np.exp(random.uniform(-gap, gap)))
    flies = [Tied(truth, drop_spread, run_spread, random) for truth in truths]
    for fly in flies:
        for _ in range(runs):
            fly.run(drops)
    return flies[0], flies[1]


def compared(one: Tied, other: Tied, same: bool, off: tuple[float, float]) -> Comparison:
    return compare(
        fly_side(one.measured(off[0], 1)), fly_side(other.measured(off[0 if same else 1], 1 if same else 2))
    )


@pytest.mark.parametrize("same", [True, False])
@pytest.mark.parametrize(("runs", "drops"), [(1, 3), (2, 5), (5, 4)])
def test_intervals_hold_and_odds_are_what_they_say(same: bool, runs: int, drops: int) -> None:
    held, odds, right = [], [], []
    for seed in range(600):
        one, other = simulated(seed, runs, drops, 0.08)
        off = np.random.default_rng(9000 + seed).normal(0, SHARED, 2)
        found = compared(one, other, same, (float(off[0]), float(off[1])))
        truth = one.truth - other.truth
        held.append(abs(found.difference - truth) <= found.expanded)
        odds.append(max(found.odds, 1 - found.odds))
        right.append((found.odds > 0.5) == (truth > 0))
    assert 0.90 <= np.mean(held) <= 0.99
    said = (np.array(odds) > 0.7) & (np.array(odds) < 0.9)
    assert said.sum() > 40
    assert np.mean(np.array(right)[said]) == pytest.approx(np.mean(np.array(odds)[said]), abs=0.10)


def test_more_runs_settle_it_as_often_as_promised() -> None:
    settled = []
    for seed in range(700):
        one, other = simulated(seed, 2, 3, 0.07)
        found = compared(one, other, True, (0.0, 0.0))
        count = None if found.told_apart else found.needs[Repeat.RUNS].count
        if count is None:
            continue
        for fly in (one, other):
            for _ in range(count):
                fly.run(3)
        settled.append(compared(one, other, True, (0.0, 0.0)).told_apart)
    assert len(settled) > 80
    assert 0.70 <= np.mean(settled) <= 0.93


def test_more_drops_settle_it_as_often_as_promised() -> None:
    """Drops that scatter by 4 %, runs by 0.2 %, both known: the numbers of more drops are kept in four of five."""
    random, settled = np.random.default_rng(3), []
    for _ in range(1500):
        truth = 0.3 * (1 + random.uniform(-0.12, 0.12))
        drops = [
            mean * (1 + random.normal(0, 0.002)) * (1 + random.normal(0, 0.04, 100 + 4))
            for mean in (truth, 0.3)
        ]
        found = compare(*(_known_side(one[:4]) for one in drops))
        count = None if found.told_apart else found.needs[Repeat.DROPS].count
        if count is not None:
            settled.append(compare(*(_known_side(one[: 4 + count]) for one in drops)).told_apart)
    assert len(settled) > 300
    assert 0.74 <= np.mean(settled) <= 0.88


def _known_side(drops: np.ndarray) -> Side:  # type: ignore[type-arg]
    speed, count = float(np.mean(drops)), len(drops)
    parts = (
        DoubtPart("drops", Repeat.DROPS, 0.04 * 0.3 / count**0.5),
        DoubtPart("runs", Repeat.RUNS, 0.002 * 0.3),
    )
    return Side("f", speed, parts, {Repeat.DROPS: count, Repeat.RUNS: 1}, {})


def test_variants_hold_over_hands_and_shared_errors() -> None:
    """Flies of a variant differ by 4 %: the interval is of the variants, not of the flies that were dropped."""
    held = []
    for seed in range(400):
        random = np.random.default_rng(seed)
        off = float(random.normal(0, SHARED))
        truths = 0.3, 0.3 * float(np.exp(random.uniform(-0.15, 0.15)))
        sides = []
        for truth in truths:
            flies = [Tied(truth * (1 + random.normal(0, 0.04)), 0.01, 0.01, random) for _ in range(3)]
            for fly in flies:
                fly.run(4)
            sides.append(variant_side("v", [fly.measured(off, 1) for fly in flies]))
        found = compare(*sides)
        held.append(abs(found.difference - (truths[0] - truths[1])) <= found.expanded)
    assert 0.90 <= np.mean(held) <= 0.995


def side(speed: float, shared: dict[int, float], own: float = 0.001, runs: float = 0.0) -> Side:
    parts = DoubtPart("drops", Repeat.DROPS, own), DoubtPart("runs", Repeat.RUNS, runs)
    return Side("f", speed, parts, {Repeat.DROPS: 5, Repeat.RUNS: 1}, shared)


def test_what_is_shared_cancels_in_one_set_up_alone() -> None:
    """By hand: u^2 = 2 x 0.001^2 + (0.0030 - 0.0031)^2, against + 0.0030^2 + 0.0031^2 in two set-ups."""
    alike = compare(side(0.306, {1: 0.0031}), side(0.30, {1: 0.0030}))
    apart = compare(side(0.306, {1: 0.0031}), side(0.30, {2: 0.0030}))
    assert alike.uncertainty == pytest.approx((2e-6 + 1e-8) ** 0.5, rel=1e-5)
    assert apart.uncertainty == pytest.approx((2e-6 + 9e-6 + 9.61e-6) ** 0.5, rel=1e-5)
    assert alike.told_apart
    assert not apart.told_apart
    assert apart.blocked_by == "set-up"
    assert apart.needs[Repeat.DROPS].count is None


def test_half_of_the_runs_in_one_set_up_cancel_half() -> None:
    """By hand: (0.0015 - 0.0030)^2 + 0.0015^2."""
    found = compare(side(0.31, {1: 0.0015, 2: 0.0015}, 1e-9), side(0.30, {1: 0.0030}, 1e-9))
    assert found.uncertainty == pytest.approx((2 * 0.0015**2) ** 0.5, rel=1e-5)


def test_odds_and_ratio_by_hand() -> None:
    """Difference of 1.5 standard uncertainties: normal distribution 0.93319 (tables)."""
    found = compare(side(0.3015, {}, 0.001), side(0.3000, {}, 1e-9))
    assert found.odds == pytest.approx(0.93319, abs=1e-4)
    assert found.ratio == pytest.approx(1.005)
    turned = compare(side(0.3000, {}, 1e-9), side(0.3015, {}, 0.001))
    assert turned.odds == pytest.approx(1 - 0.93319, abs=1e-4)
    assert turned.difference == -found.difference


def test_few_degrees_of_freedom_widen_as_student_has_it() -> None:
    """JCGM 100:2008, table G.2: t for 95.45 % and 4 degrees of freedom is 2.87, for 10 it is 2.28."""
    for freedom, t in ((4, 2.87), (10, 2.28)):
        one = Side("a", 0.3, (DoubtPart("runs", Repeat.RUNS, 0.01, freedom),), {Repeat.RUNS: 1}, {})
        other = Side("b", 0.2, (DoubtPart("runs", Repeat.RUNS, 1e-9),), {Repeat.RUNS: 1}, {})
        assert compare(one, other).expanded == pytest.approx(0.01 * t, abs=0.00005)


def test_no_number_of_drops_helps_against_the_spread_of_soaking_anew() -> None:
    found = compare(side(0.305, {}, runs=0.004), side(0.300, {}, runs=0.004))
    assert found.needs[Repeat.DROPS].count is None
    assert not found.needs[Repeat.DROPS].ever
    assert found.blocked_by == "runs"
    assert found.needs[Repeat.RUNS].ever


def test_odds_are_never_told_as_certain() -> None:
    assert [odds_text(odds) for odds in (0.99999, 0.97, 0.001)] == ["over 99 %", "97 %", "under 1 %"]


def test_the_command_offers_the_changes_that_there_are() -> None:
    assert tuple(CHANGES) == OFFERED


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return shop(tmp_path / "flies.sqlite")


def test_speeds_are_those_of_the_catalog_and_the_faster_stands_first(catalog: Catalog) -> None:
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M1", 0.304, 2)
    add_run(catalog, "M2", 0.350, 3)
    found = compare_measured(catalog, ["m1", "M2"])
    assert [found.pairs[0].found.one.code, found.pairs[0].found.other.code] == ["M2", "M1"]
    with catalog.reading() as session:
        for code in ("M1", "M2"):
            fly: Fly = get(session, NOUNS["fly"], code)
            assert fly.speed is not None
            assert found.flies.sides[code].speed == pytest.approx(fly.speed.free_speed_m_s)
    assert found.pairs[0].set_up == "one"
    assert found.pairs[0].found.told_apart


@pytest.mark.parametrize(
    ("change", "celsius", "differs"),
    [
        ({"tank": {"width": "300 mm", "depth": "140 mm"}}, 18.0, ("tank",)),
        ({"camera": {"distance": "500 mm"}}, 18.0, ("camera",)),
        ({"scale": {"points": [[0, 0], [0, 900]], "length": "250 mm"}}, 18.0, ("scale",)),
        ({"scale": {}}, 18.0, ("not known for all",)),
        ({}, 19.5, ("temperature",)),
    ],
)
def test_another_set_up_is_found_out_and_named(
    catalog: Catalog, change: dict[str, Any], celsius: float, differs: tuple[str, ...]
) -> None:
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M2", 0.310, 2, sheet={**SHEET, **change}, celsius=celsius)
    (pair,) = compare_measured(catalog, ["M1", "M2"]).pairs
    assert (pair.set_up, pair.differs) == ("different", differs)
    add_run(catalog, "A1", 0.310, 3, celsius=18.9)
    (same,) = compare_measured(catalog, ["M1", "A1"]).pairs
    assert same.set_up == "one"
    assert same.found.uncertainty < pair.found.uncertainty


def test_what_each_clip_meets_anew_does_not_cancel(catalog: Catalog) -> None:
    """The corners of the card are read in each clip: 0.002 of the 0.003 m/s stays on either side."""
    budget = [{"source": "card corners", "standard_uncertainty_m_s": 0.002}]
    for number, code in enumerate(("M1", "M2", "A1"), 1):
        add_run(catalog, code, 0.300, number, result={"budget": budget} if code != "A1" else None)
    found = compare_measured(catalog, ["M1", "M2"]).flies.sides
    clip = {part.source: part.uncertainty for part in found["M1"].parts}["clip"]
    assert clip == pytest.approx(0.002)
    (shared,) = found["M1"].shared.values()
    assert shared == pytest.approx((0.003**2 - 0.002**2) ** 0.5)


def test_nothing_cancels_where_nobody_knows_what_is_shared(catalog: Catalog) -> None:
    add_run(catalog, "M1", 0.300, 1, shared=None)
    add_run(catalog, "M2", 0.310, 2, shared=None)
    measured(catalog, "A1", 0.300, 0.004)
    for pair in compare_measured(catalog, ["M1", "M2", "A1"]).pairs:
        assert pair.found.uncertainty >= 0.004 * 2**0.5


def test_speeds_in_other_water_are_taken_to_one(catalog: Catalog) -> None:
    """Two flies alike, one in colder water: slower there by what viscosity does, and so alike again, with a doubt."""
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M1", 0.300, 2)
    add_run(catalog, "M2", 0.300, 3, celsius=4.0)
    found = compare_measured(catalog, ["M2", "M1"])
    assert found.flies.brought == ("M2",)
    assert found.flies.water.temperature == pytest.approx(291.15)
    assert 1.0 < found.flies.sides["M2"].speed / 0.300 < 1.08
    assert "water" in {part.source for part in found.flies.sides["M2"].parts}
    assert found.pairs[0].set_up == "different"


def family(catalog: Catalog) -> None:
    """Add variants that differ in one thing or two, each with one fly; all of it invented."""
    with catalog.writing() as session:
        hen = Material(code="HEN", kind=MaterialKind.HACKLE, name="hen")
        lack = Material(code="LACK", kind=MaterialKind.RESIN, name="lack")
        first: Variant = get(session, NOUNS["variant"], "MILL-28-14")
        second: Variant = get(session, NOUNS["variant"], "MILL-24-16")
        first.pattern.steps = [
            Step(position=1, part=Part.HACKLE, material=hen, amount=2, unit=Unit.TURN),
            Step(position=2, part=Part.COATING, material=lack, amount=1, unit=Unit.DROP),
        ]

        def add(code: str, **given: Any) -> Variant:
            made = Variant(code=code, pattern=first.pattern, **given)
            session.add_all([made, Fly(code=f"F-{code}", variant=made)])
            return made

        add("SMALL", hook=first.hook, bead=second.bead)
        add("BARE", hook=first.hook)
        add("THICK", hook=first.hook, bead=first.bead).changes = [VariantChange(position=1, amount=4)]
        add("RAW", hook=first.hook, bead=first.bead).changes = [VariantChange(position=2, amount=0)]
        add("HOOK", hook=second.hook, bead=first.bead)
        add("TWICE", hook=second.hook, bead=second.bead).changes = [VariantChange(position=1, amount=4)]
        session.add(Fly(code="F-M3", variant=second))
    speeds = {
        "M1": 0.40,
        "F-SMALL": 0.30,
        "F-BARE": 0.10,
        "F-THICK": 0.32,
        "F-RAW": 0.38,
        "F-HOOK": 0.42,
        "F-M3": 0.31,
        "F-TWICE": 0.25,
    }
    for number, (code, speed) in enumerate(speeds.items(), 1):
        add_run(catalog, code, speed, number)


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


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], f"CODE: no fly was named. {TWO_OR_MORE}"),
        (["M1"], f"CODE: only one fly was named. {TWO_OR_MORE}"),
        (["M1", "m1"], "CODE: M1 is named twice. Name each once."),
        (
            ["M1", "M2"],
            "fly: M2 was never measured. Film it falling and measure it: flybench bench measure CLIP --fly M2.",
        ),
        (
            ["M1", "A1"],
            "fly: none of the runs of A1 counts (run 2): each is set aside or has no free-water speed. Let one count with "
            "flybench run accept NUMBER, or film and measure again: flybench bench measure CLIP --fly A1.",
        ),
        (
            ["M1", "MILL-28-14"],
            'CODE: "MILL-28-14" is a variant, not a fly. Add --variants to compare variants.',
        ),
        (
            ["M1", "M9"],
            'fly: there is no "M9". See what there is: flybench fly list, or add it with: '
            "flybench fly add M9 --variant CODE.",
        ),
        (
            ["--variants", "MILL-28-14", "A-0-16"],
            "variant: none of the runs of A-0-16 counts (run 2): each is set aside or has no free-water speed. Let one "
            "count with flybench run accept NUMBER, or film and measure again: flybench bench measure CLIP --fly CODE.",
        ),
        (
            ["--variants", "MILL-28-14", "MILL-24-16"],
            "variant: MILL-24-16 was never measured. Film a fly of it falling and measure it: flybench bench measure CLIP "
            "--fly CODE.",
        ),
        (
            ["--change", "bead", "--variants"],
            "--variants: it does not go with --change. Leave it out: --change compares variants anyway.",
        ),
        (["M1"] * 21, "CODE: 21 are too many at once. Name at most 20."),
    ],
)
def test_errors_name_what_is_wrong(
    catalog: Catalog, tmp_path: Path, capsys: Capture, arguments: list[str], message: str
) -> None:
    add_run(catalog, "M1", 0.3, 1)
    add_run(catalog, "A1", 0.2, 2, accepted=False)
    said = flybench(capsys, "sink", "compare", *arguments, "--catalog", tmp_path / "flies.sqlite")
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


def test_one_pair_is_told_in_sentences(catalog: Catalog, tmp_path: Path, capsys: Capture) -> None:
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M2", 0.306, 2)
    said = flybench(capsys, "sink", "compare", "M1", "M2", "--catalog", tmp_path / "flies.sqlite")
    assert said.code == 0, said.err
    text = " ".join(said.out.split())
    assert said.out.splitlines()[0] == "M2 and M1 cannot be told apart (k = 2)."
    assert (
        "no number of drops will do, as a fly that is soaked and dropped another day sinks a little differently"
        in text
    )
    assert "one set-up, as their sheets say, so what scale, walls and thermometer are off by cancels" in text
    assert text.endswith(
        "One run does not show how much runs of a fly differ, so 1.5 % was assumed for M1 and M2."
    )
    assert max(map(len, said.out.splitlines())) <= 80


def test_machine_form_and_pictures(catalog: Catalog, tmp_path: Path, capsys: Capture) -> None:
    family(catalog)
    address = ("--catalog", tmp_path / "flies.sqlite", "--json")
    for name, arguments in (("a.png", ["M1", "F-THICK", "F-RAW"]), ("b.svg", ["--change", "bead"])):
        said = flybench(capsys, "sink", "compare", *arguments, "--plot", tmp_path / name, *address)
        assert said.code == 0, said.err
        told = json.loads(said.out)
        assert len(told["pairs"]) == 3
        assert (tmp_path / name).stat().st_size > 1000
    assert told["mean"]["ratio"] > 1
    said = flybench(capsys, "sink", "compare", "M1", "F-RAW", "--plot", tmp_path / "c.gif", *address)
    assert said.code == 1
    assert said.out == ""
    assert not (tmp_path / "c.gif").exists()


def test_errors_of_values_are_of_the_one_class(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as caught:
        one_change(catalog, "length")
    assert str(caught.value) == '--change: "length" is not known. Use one of bead, hackle, resin, hook.'
