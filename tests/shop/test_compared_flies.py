"""Measured flies of a catalog compared: their set-ups, one water, and the command."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from changed_variants import family
from console import flybench
from invented_runs import SHEET, add_run
from scipy import stats
from shop import measured
from sqlalchemy import select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly, VariantSpeed
from flybench.errors import BadValueError
from flybench.jobs.sink.compare import compare_measured, one_change
from flybench.statistics.comparing import Comparison
from flybench.telling.sink import comparison

Capture = pytest.CaptureFixture[str]


TWO_OR_MORE = (
    "Name two or more, as in flybench sink compare A B, or compare all that differ in one thing: flybench sink compare "
    "--change bead."
)


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


@pytest.mark.slow
@pytest.mark.parametrize(
    ("change", "celsius", "differs"),
    [
        ({"tank": {"width": "300 mm", "depth": "140 mm"}}, 18.0, ("tank",)),
        ({"camera": {"distance": "500 mm"}}, 18.0, ("camera",)),
        ({"scale": {"points": [[0, 0], [0, 900]], "length": "250 mm"}}, 18.0, ("scale",)),
        ({"scale": {}}, 18.0, ("not known for all",)),
    ],
)
def test_another_set_up_is_found_out_and_named(
    catalog: Catalog, change: dict[str, Any], celsius: float, differs: tuple[str, ...]
) -> None:
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M2", 0.310, 2, sheet={**SHEET, **change}, celsius=celsius)
    (pair,) = compare_measured(catalog, ["M1", "M2"]).pairs
    assert (pair.set_up, pair.differs) == ("different", differs)
    assert pair.cancels == ()
    add_run(catalog, "A1", 0.310, 3, celsius=18.9)
    (same,) = compare_measured(catalog, ["M1", "A1"]).pairs
    assert (same.set_up, same.cancels) == ("one", ("set-up",))
    assert _without_student(same.found) < _without_student(pair.found)


def _without_student(found: Comparison) -> float:
    """Return the standard uncertainty of a difference before Student's factor, which grows where a well-known part goes."""
    return float(found.uncertainty / (stats.t.ppf(0.977249868, found.freedom) / 2))


def test_what_each_clip_meets_anew_does_not_cancel(catalog: Catalog) -> None:
    """The corners of the card are read in each clip: 0.002 of the 0.003 m/s stays on either side."""
    budget = [{"source": "card corners", "standard_uncertainty_m_s": 0.002}]
    for number, code in enumerate(("M1", "M2", "A1"), 1):
        add_run(catalog, code, 0.300, number, result={"budget": budget} if code != "A1" else None)
    found = compare_measured(catalog, ["M1", "M2"]).flies.sides
    clip = {part.source: part.uncertainty for part in found["M1"].parts}["clip"]
    assert clip == pytest.approx(0.002)
    assert {what for what, _ in found["M1"].shared} == {"tank", "thermometer"}
    assert math.hypot(*found["M1"].shared.values()) == pytest.approx((0.003**2 - 0.002**2) ** 0.5)


def test_nothing_cancels_where_nobody_knows_what_is_shared(catalog: Catalog) -> None:
    add_run(catalog, "M1", 0.300, 1, shared=None)
    add_run(catalog, "M2", 0.310, 2, shared=None)
    measured(catalog, "A1", 0.300, 0.004)
    for pair in compare_measured(catalog, ["M1", "M2", "A1"]).pairs:
        assert pair.found.uncertainty >= 0.004 * 2**0.5


@pytest.mark.slow
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
    assert found.pairs[0].set_up == "one"  # colder water is no other set-up


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
    assert re.search(
        r"; what would do is measuring each \d more times, soaked and dropped anew \(they are", text
    )
    assert (
        "one set-up on one evening, as their sheets say; both have the same error from distance, tilt and fall plane, "
        "which cancels" in text
    )
    assert text.endswith(
        "One run does not show how much runs of a fly differ, so 2.0 % was assumed for M1 and M2."
    )
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.slow
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


def test_a_degree_more_on_the_same_evening_is_still_one_set_up(catalog: Catalog) -> None:
    """Warmer by 1.1 K, before the same card: distance, tilt and plane were not touched, so what they are off by cancels."""
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M2", 0.301, 2, celsius=18.9)
    (near,) = compare_measured(catalog, ["M1", "M2"]).pairs
    add_run(catalog, "A1", 0.301, 3, celsius=19.1)
    (apart,) = compare_measured(catalog, ["M1", "A1"]).pairs
    assert (near.set_up, apart.set_up) == ("one", "one")
    assert apart.cancels == near.cancels == ("set-up",)
    assert apart.found.uncertainty < 1.25 * near.found.uncertainty


def test_one_clip_under_two_flies_shows_nothing_of_how_they_differ(catalog: Catalog) -> None:
    add_run(catalog, "M1", 0.300, 1)
    add_run(catalog, "M2", 0.300, 2, clip=1)
    found = compare_measured(catalog, ["M1", "M2"])
    assert found.pairs[0].found.beforehand is None
    assert not found.pairs[0].found.alike
    assert comparison.remarks(found.flies)[0] == (
        "M1 and M2 have a clip in common, which tells nothing of how they differ. Film each by itself."
    )
    assert comparison.to_settle(found.pairs[0].found).endswith(
        "; what would do is measuring each over 20 more times, soaked and dropped anew, which is hardly worth the work"
    )
    with catalog.reading() as session:
        variant = get(session, NOUNS["fly"], "M1").variant_id
        speed = session.scalars(select(VariantSpeed).where(VariantSpeed.variant_id == variant)).one()
        assert (speed.flies, speed.between_flies_m_s) == (1, None)
