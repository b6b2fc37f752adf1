"""Predicted speeds, on the screen and on labels, as a user meets them: marked, told, refused.

Flies, recipes, prices and speeds are invented. Numbers are worked out from the recipe files in ``catalog`` by hand,
or from physics named beside them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from console import Said
from sinking_shop import PREDICTED, SPEEDS, floating
from sqlalchemy import func, select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Bead
from flybench.errors import BadValueError
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.sink.predict import Wish, beads_for

Run = Callable[..., Said]


def test_predicted_is_marked_and_says_what_it_stands_on(run: Run) -> None:
    said = run("sink", "predict", *PREDICTED, "--step", "6=1")
    head, line, *basis = said.out.splitlines()
    assert "95 of 100 flies" in head
    assert line.startswith("moss-hackle hk-jig-12 bd-tu-sl-31 6=1")
    assert "predicted" in line
    assert basis[0] == "Water: 18 °C (as the flies were measured in)."
    assert basis[1] == "Learned from 4 measured and weighed flies of 4 variants."
    # Read off the recipes: flies measured have 0 to 4 turns, so that one lies within, ten outside.
    assert "hackle" not in said.err
    far = run("sink", "predict", *PREDICTED, "--step", "6=10")
    assert (
        "Outside what was measured: hackle 10 turns, measured were 0 to 4 (moss-hackle hk-jig-12 bd-tu-sl-31 6=10)"
        in far.err
    )


def test_machine_form_of_a_prediction(run: Run) -> None:
    said = run("sink", "predict", *PREDICTED, "--json")
    found = json.loads(said.out)
    assert found["water"] == {
        "temperature_k": pytest.approx(291.15),
        "salinity": 0.0,
        "from": "as the flies were measured in",
    }
    (fly,) = found["flies"]
    assert set(fly) == {
        "code", "pattern", "bead", "predicted", "sink_speed_m_s", "standard_uncertainty_m_s", "interval_m_s",
        "interval_level", "submerged_weight_n", "submerged_weight_u_n", "weight_from", "outside", "assumed",
    }  # fmt: skip
    low, high = fly["interval_m_s"]
    assert low < fly["sink_speed_m_s"] < high
    assert (fly["predicted"], fly["bead"], fly["weight_from"]) == (True, "bd-tu-sl-31", "from-parts")
    # The same dressing was measured at 0.36 m/s: the interval holds it.
    assert low < 0.36 < high


def test_more_bead_is_faster_and_more_hackle_slower(run: Run) -> None:
    beads = ("--bead", "bd-tu-sl-20", "--bead", "bd-tu-sl-25", "--bead", "bd-tu-sl-36")
    slow, middle, fast = json.loads(run("sink", "predict", "moss-hackle-12", *beads, "--json").out)["flies"]
    assert slow["sink_speed_m_s"] < middle["sink_speed_m_s"] < fast["sink_speed_m_s"]
    thin, thick = (
        json.loads(run("sink", "predict", "moss-hackle-12", "--step", f"6={turns}", "--json").out)["flies"][0]
        for turns in (1, 6)
    )
    assert thick["sink_speed_m_s"] < thin["sink_speed_m_s"]


def test_usual_amounts_are_told(empty: Run) -> None:
    said = empty("sink", "predict", "MILL-28-14")
    assert said.code == 0
    assert "MILL-28-14: usual for its style, as the recipe does not say: " in said.err
    assert "Water: 15 °C (assumed)." in said.out
    assert "no fly with a known weight was measured: physics and usual dressings alone" in said.err


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ([], "variant: none was named. Name variants, or --pattern with --hook and --bead."),
        (["S1"], 'variant: there is no "S1".'),
        (
            ["moss-hackle-12", "--pattern", "moss-hackle"],
            "pattern: a variant is named already. Name variants, or one pattern with a hook.",
        ),
        (
            ["--pattern", "moss-hackle"],
            "hook: none was named. Name one: --hook CODE, see flybench material list kind:hook.",
        ),
        (
            ["moss-hackle-12", "--bead", "hk-jig-12"],
            "bead: hk-jig-12 is not a bead. See the beads: flybench material list kind:bead.",
        ),
        (
            ["moss-hackle-12", "--hook", "bd-tu-sl-31"],
            "hook: bd-tu-sl-31 is not a hook. See the hooks: flybench material list kind:hook.",
        ),
        (
            ["moss-hackle-12", "--step", "9=1"],
            "step: moss-hackle has no step 9 with an amount. "
            "Steps with one: 2, 3, 4, 5, 6; see flybench pattern show moss-hackle.",
        ),
        (["moss-hackle-12", "--step", "6=-1"], "step: -1 is no amount for step 6. Give zero or more."),
        (
            ["moss-hackle-12", "--temperature", "90 degC"],
            "temperature: 363.15 is outside 273.15 to 313.15 K.",
        ),
        (["moss-hackle-12", "--for-speed", "50"], 'speed: "50" has no unit.'),
        (
            ["moss-hackle-12", "--for-speed", "5 m/s"],
            "speed: 500 cm/s is outside 1 to 300 cm/s. Give a sink speed.",
        ),
        (
            ["moss-hackle-12", "--for-speed", "0 cm/s"],
            "speed: 0 cm/s is outside 1 to 300 cm/s. Give a sink speed.",
        ),
        (
            ["moss-hackle-12", "querrow-pin-16", "--for-speed", "30 cm/s"],
            "variant: 2 were named. Name one for a wanted speed.",
        ),
        (
            ["--for-speed", "30 cm/s"],
            "variant: none was named. Name variants, or --pattern with --hook and --bead.",
        ),
    ],
)
def test_wishes_that_are_refused(run: Run, asked: list[str], message: str) -> None:
    said = run("sink", "predict", *asked)
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith(f"Error: {message}")


@pytest.mark.parametrize("steps", [["--step", "x"], ["--step", "6=two"], ["--step", "6=1", "--step", "6=2"]])
def test_steps_that_cannot_be_read(run: Run, steps: list[str]) -> None:
    said = run("sink", "predict", "moss-hackle-12", *steps)
    assert said.code != 0
    assert said.out == ""
    assert "--step" in said.err


def test_what_floats_is_refused_by_name(run: Run, catalog: Catalog) -> None:
    floating(catalog)
    said = run("sink", "predict", "BOB-12")
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith("Error: variant BOB-12: ")
    assert "float" in said.err


def test_a_speed_that_beads_reach(run: Run) -> None:
    beads = ("--bead", "bd-tu-sl-20", "--bead", "bd-tu-sl-31", "--bead", "none")
    said = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "34 cm/s")
    assert said.code == 0
    assert "For 34 cm/s: bd-tu-sl-31, which hits within 10 % in " in said.out
    assert "no bead" in said.out
    flies = json.loads(
        run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "34 cm/s", "--json").out
    )["flies"]
    by_bead = {one["bead"]: one for one in flies}
    assert set(by_bead) == {"bd-tu-sl-20", "bd-tu-sl-31", None}
    assert by_bead[None]["on_hand"] is None
    assert by_bead["bd-tu-sl-31"]["faster"] > by_bead["bd-tu-sl-20"]["faster"] >= by_bead[None]["faster"]


def test_a_speed_that_no_bead_reaches_and_one_all_beat(run: Run) -> None:
    beads = ("--bead", "bd-tu-sl-20", "--bead", "bd-tu-sl-31")
    fast = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "250 cm/s")
    assert fast.code == 0
    assert "No bead of these reaches 250 cm/s: the fastest is bd-tu-sl-31." in fast.out
    slow = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "2 cm/s")
    assert "All of these are faster than 2 cm/s: the slowest is bd-tu-sl-20." in slow.out


def test_all_beads_of_the_catalog_are_tried(catalog: Catalog) -> None:
    tried, found = beads_for(catalog, Wish(("moss-hackle-12",)), 0.4)
    with catalog.reading() as session:
        assert len(tried) == len(found.flies) == session.scalar(select(func.count()).select_from(Bead))
    assert [one.hit for one in tried] == sorted((one.hit for one in tried), reverse=True)


def test_a_wanted_speed_is_checked_by_the_job(catalog: Catalog) -> None:
    with pytest.raises(BadValueError, match="speed"):
        beads_for(catalog, Wish(("moss-hackle-12",)), math.nan)


def test_predicted_labels_are_marked_and_measured_ones_left(
    run: Run, catalog: Catalog, tmp_path: Path
) -> None:
    plain = {one.code: one for one in labels_for(catalog, ["moss-hackle"])}
    found = {one.code: one for one in labels_for(catalog, [], predict=True)}
    for code, (variant, speed) in SPEEDS.items():
        label = found[variant].speed
        assert label is not None, code
        assert (label.value, label.expanded, label.predicted) == (
            pytest.approx(speed),
            pytest.approx(0.008),
            False,
        )
    slate = found["slate-plump-10"].speed
    assert slate is not None
    assert slate.predicted
    assert found["moss-hackle-12"] == plain["moss-hackle-12"]
    never = {one.code: one for one in labels_for(catalog, [])}
    assert never["slate-plump-10"].speed is None


def test_labels_of_what_floats_stay_without_speed(catalog: Catalog) -> None:
    floating(catalog)
    found = {one.code: one for one in labels_for(catalog, [], predict=True)}
    assert found["BOB-12"].speed is None
    assert found["slate-plump-10"].speed is not None


def words(path: Path) -> str:
    """Return what a PDF says."""
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(path)]
    return " ".join(" ".join(pages).split())


def test_printed_labels_say_predicted(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    assert run("print", "labels", "slate-plump-10s", "--predict", "-o", path).code == 0
    assert "predicted" in words(path)
    assert run("print", "labels", "slate-plump-10s", "-o", path).code == 0
    assert "not measured" in words(path)
    assert run("print", "labels", "moss-hackle-12s", "--predict", "-o", path).code == 0
    assert "predicted" not in words(path)
    assert "45" in words(path)
