"""Predicted speeds, on the screen and on labels, as a user meets them: marked, told, refused.

Flies, recipes, prices and speeds are invented. Numbers are worked out from the recipe files in ``catalog`` by hand,
or from physics named beside them.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from console import Said
from sinking_shop import PREDICTED, SPEEDS, flat, floating, refused
from sqlalchemy import func, select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Bead
from flybench.errors import BadValueError
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.sink.predict import Wish, beads_for

Run = Callable[..., Said]


@pytest.mark.slow
def test_predicted_is_marked_and_says_what_it_stands_on(run: Run) -> None:
    said = run("sink", "predict", *PREDICTED, "--step", "6=1")
    head, line, _, *rest = said.out.splitlines()
    assert head.split() == ["fly", "cm/s", "95", "of", "100", "weight", "mN"]
    assert line.startswith("moss-hackle hk-jig-12 bd-tu-sl-31 6=1")
    assert "predicted" in line
    basis = flat(" ".join(rest))
    assert basis.startswith(
        "Speeds are predicted, for one fly tied so; 95 of 100 such flies sink within the interval."
    )
    assert "The water is 18 °C (that of the measured flies, as no --temperature was given)." in basis
    assert "Learned from 4 measured flies of known weight, of 4 variants." in basis
    assert max(map(len, said.out.splitlines())) <= 80
    # Read off the recipes: flies measured have 0 to 4 turns, so that one lies within, ten outside.
    assert "hackle" not in said.err
    far = run("sink", "predict", *PREDICTED, "--step", "6=10")
    assert (
        "Outside what was measured: hackle 10 turns, while flies measured so far have 0 to 4 turns (moss-hackle hk-jig-12 "
        "bd-tu-sl-31 6=10)" in flat(far.err)
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
        "measured",
    }  # fmt: skip
    low, high = fly["interval_m_s"]
    assert low < fly["sink_speed_m_s"] < high
    assert (fly["predicted"], fly["bead"], fly["weight_from"]) == (True, "bd-tu-sl-31", "from-parts")
    # The same dressing was measured at 0.36 m/s: the interval holds it.
    assert low < 0.36 < high
    assert fly["measured"] == {
        "variant": "moss-hackle-12", "sink_speed_m_s": 0.36, "standard_uncertainty_m_s": 0.004, "flies": 1
    }  # fmt: skip


@pytest.mark.slow
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
    out, err = flat(said.out), flat(said.err)
    assert (
        "MILL-28-14: the recipe does not say all, so what is usual for its style was taken: hook gape, hook shank, dressing."
        in err
    )
    assert "The water is 15 °C (assumed, as no --temperature was given and no fly was measured)." in out
    assert (
        "no fly with a known weight was measured, so this rests on physics and usual dressings alone" in err
    )


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (
            [],
            "VARIANT: none was named. Name variants of flybench variant list, or a --pattern with --hook and --bead.",
        ),
        (["S1"], 'variant: there is no "S1"; it is a fly. See what there is: flybench variant list.'),
        (
            ["moss-hackle-12", "--pattern", "moss-hackle"],
            "--pattern: a variant is named already, moss-hackle-12. Name variants, or one --pattern with --hook and --bead.",
        ),
        (
            ["--pattern", "moss-hackle"],
            "--hook: none was named. Name one: --hook CODE, see flybench material list kind:hook.",
        ),
        (
            ["moss-hackle-12", "--bead", "hk-jig-12"],
            "--bead: hk-jig-12 is not a bead. See the beads: flybench material list kind:bead.",
        ),
        (
            ["moss-hackle-12", "--hook", "bd-tu-sl-31"],
            "--hook: bd-tu-sl-31 is not a hook. See the hooks: flybench material list kind:hook.",
        ),
        (
            ["moss-hackle-12", "--step", "9=1"],
            "--step: moss-hackle has no step 9 with an amount. "
            "Its steps with an amount: 2, 3, 4, 5, 6; see flybench pattern show moss-hackle.",
        ),
        (
            ["moss-hackle-12", "--step", "6=-1"],
            "--step: -1 is not an amount for step 6. Give zero or more, and less than 1e+06.",
        ),
        (
            ["moss-hackle-12", "--temperature", "90 degC"],
            "--temperature: 90 degC is outside 0 to 30 degC. Give the temperature of the river.",
        ),
        (
            ["moss-hackle-12", "--for-speed", "50"],
            '--for-speed: "50" has no unit. Write it with its unit, for example "30 cm/s".',
        ),
        (
            ["moss-hackle-12", "--for-speed", "5 m/s"],
            "--for-speed: 5 m/s is outside 0.01 to 3 m/s. Give a sink speed.",
        ),
        (
            ["moss-hackle-12", "--for-speed", "0 cm/s"],
            "--for-speed: 0 cm/s is outside 1 to 300 cm/s. Give a sink speed.",
        ),
        (
            ["moss-hackle-12", "querrow-pin-16", "--for-speed", "30 cm/s"],
            "VARIANT: 2 were named, and beads are chosen for one. Name one variant with --for-speed.",
        ),
        (
            ["--for-speed", "30 cm/s"],
            "VARIANT: none was named. Name variants of flybench variant list, or a --pattern with --hook and --bead.",
        ),
    ],
)
def test_wishes_that_are_refused(run: Run, asked: list[str], message: str) -> None:
    refused(run("sink", "predict", *asked), message)


@pytest.mark.parametrize(
    ("steps", "message"),
    [
        (["x"], '"x" is not a step and an amount. Write the number of the step and its amount, as in 6=3.'),
        (
            ["6=two"],
            '"6=two" is not a step and an amount. Write the number of the step and its amount, as in 6=3.',
        ),
        (["6=1", "6=2"], "step 6 is given two amounts. Give it one."),
    ],
)
def test_steps_that_cannot_be_read(run: Run, steps: list[str], message: str) -> None:
    options = [part for step in steps for part in ("--step", step)]
    refused(run("sink", "predict", "moss-hackle-12", *options), f"--step: {message}")


@pytest.mark.slow
def test_what_floats_is_refused_by_name(run: Run, catalog: Catalog) -> None:
    floating(catalog)
    said = run("sink", "predict", "BOB-12")
    assert (said.code, said.out) == (1, "")
    assert re.fullmatch(
        r"Error: variant BOB-12: fly: its weight in water comes to -[0-9.]+ mN, so it floats\. "
        r"Check its masses and volumes, or add weight: it must sink\.\n",
        said.err,
    )


@pytest.mark.slow
def test_a_speed_that_beads_reach(run: Run) -> None:
    beads = ("--bead", "bd-tu-sl-20", "--bead", "bd-tu-sl-31", "--bead", "none")
    said = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "34 cm/s")
    assert said.code == 0
    assert "For 34 cm/s take bd-tu-sl-31: " in flat(said.out)
    assert "no bead" in said.out
    flies = json.loads(
        run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "34 cm/s", "--json").out
    )["flies"]
    by_bead = {one["bead"]: one for one in flies}
    assert set(by_bead) == {"bd-tu-sl-20", "bd-tu-sl-31", None}
    assert by_bead[None]["on_hand"] is None
    assert by_bead["bd-tu-sl-31"]["faster"] > by_bead["bd-tu-sl-20"]["faster"] >= by_bead[None]["faster"]


@pytest.mark.slow
def test_a_speed_that_no_bead_reaches_and_one_all_beat(run: Run) -> None:
    beads = ("--bead", "bd-tu-sl-20", "--bead", "bd-tu-sl-31")
    fast = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "250 cm/s")
    assert fast.code == 0
    assert "None of these beads reaches 250 cm/s: the fastest fly is that on bd-tu-sl-31." in flat(fast.out)
    slow = run("sink", "predict", "moss-hackle-12", *beads, "--for-speed", "2 cm/s")
    assert (
        "With each of these beads it sinks faster than 2 cm/s: the slowest fly is that on bd-tu-sl-20."
        in flat(slow.out)
    )


@pytest.mark.slow
def test_all_beads_of_the_catalog_are_tried(catalog: Catalog) -> None:
    tried, found = beads_for(catalog, Wish(("moss-hackle-12",)), 0.4)
    with catalog.reading() as session:
        assert len(tried) == len(found.flies) == session.scalar(select(func.count()).select_from(Bead))
    assert [one.hit for one in tried] == sorted((one.hit for one in tried), reverse=True)


def test_a_wanted_speed_is_checked_by_the_job(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as caught:
        beads_for(catalog, Wish(("moss-hackle-12",)), math.nan)
    assert str(caught.value) == (
        '--for-speed: nan cm/s is outside 1 to 300 cm/s. Give a sink speed, such as "30 cm/s".'
    )


@pytest.mark.slow
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


@pytest.mark.slow
def test_printed_labels_say_predicted(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    assert run("print", "labels", "slate-plump-10s", "--predict", "--output", path).code == 0
    assert "predicted" in words(path)
    assert run("print", "labels", "slate-plump-10s", "--output", path, "--overwrite").code == 0
    assert "not measured" in words(path)
    assert run("print", "labels", "moss-hackle-12s", "--predict", "--output", path, "--overwrite").code == 0
    assert "predicted" not in words(path)
    assert "45" in words(path)
