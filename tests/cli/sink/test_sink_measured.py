"""Drag, drag laws and other water, as a user meets them: whole messages, nothing half-done.

Flies, recipes, prices and speeds are invented. Numbers are worked out from the recipe files in ``catalog`` by hand,
or from physics named beside them.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said
from refusals import fields_of
from shop import measured
from sinking_shop import PREDICTED, SPEEDS, flat, refused, told

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.jobs.shelf.rows import add_row

Run = Callable[..., Said]
MAGIC = {"png": b"\x89PNG", "pdf": b"%PDF", "svg": b"<?xml"}


def test_drag_is_what_weight_and_speed_make_it(run: Run) -> None:
    flies = told(run("sink", "drag", "--json"))
    drag = flies["S1"]["drag"]
    assert isinstance(drag, dict)
    # Force balance at terminal speed, W = rho A v^2 / 2; CRC handbook: water of 18 degC has 998.6 kg/m3.
    assert drag["drag_area_m2"] == pytest.approx(2 * drag["submerged_weight_n"] / (998.6 * 0.36**2), rel=1e-4)
    assert drag["drag_coefficient"] == pytest.approx(
        drag["drag_area_m2"] / (math.pi / 4 * 3.1e-3**2), rel=1e-6
    )
    # CRC handbook: 1.053 mPa s at 18 degC.
    assert drag["reynolds"] == pytest.approx(998.6 * 0.36 * 3.1e-3 / 1.053e-3, rel=5e-3)
    assert (drag["weight_from"], drag["below_bare_bead"]) == ("from-parts", False)
    # Of two flies of one bead and hook, the slower one drags more.
    sparse = flies["S2"]["drag"]
    assert isinstance(sparse, dict)
    assert sparse["drag_area_m2"] < drag["drag_area_m2"]


def test_drag_for_people_goes_from_least_to_most(run: Run) -> None:
    said = run("sink", "drag", "style:hackled")
    head, *lines = said.out.split("\n\n")[0].splitlines()
    assert [line.split()[0] for line in lines] == ["S2", "S1"]
    assert [one.strip() for one in head.split("  ") if one] == [
        "fly", "cm/s", "weight mN", "area mm²", "coefficient", "bare beads", "Re",
    ]  # fmt: skip
    assert "The coefficient is on the bead's frontal area." in flat(said.out)
    assert max(map(len, said.out.splitlines())) <= 80


@pytest.mark.slow
def test_a_fly_without_weight_has_no_drag_but_goes_to_other_water(run: Run, catalog: Catalog) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "L1", "variant": "moss-hackle-12", "mass": "0.1 g"})
    measured(catalog, "L1", 0.36, 0.004)
    said = run("sink", "drag", "--json")
    found = json.loads(said.out)
    assert told(said)["L1"]["drag"] is None
    assert [one["code"] for one in found["flies"]][-1] == "L1"
    remark = next(line for line in found["remarks"] if line.startswith("fly L1: no weight, so no drag: "))
    assert "0.1 g is less than its bead alone" in remark
    shown = run("sink", "drag")
    assert "not known" in next(line for line in shown.out.splitlines() if line.startswith("L1"))
    assert remark in flat(shown.err)
    there = run("sink", "at", "--temperature", "4 degC", "L1")
    assert there.code == 0
    assert (
        "The weight in water is not known, so a usual density was assumed: L1. Weigh them: flybench fly weigh CODE"
    ) in flat(there.err)
    assert told(run("sink", "at", "--temperature", "4 degC", "L1", "--json"))["L1"]["density_assumed"] is True


def test_less_drag_than_a_bare_bead_is_flagged(run: Run, catalog: Catalog) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "S9", "variant": "moss-hackle-12"})
    measured(catalog, "S9", 1.6, 0.01)
    said = run("sink", "drag")
    assert said.code == 0
    assert (
        "S9: it drags less than its bead alone would. Check its weight, its speed and the bead's size."
    ) in flat(said.err)
    drag = told(run("sink", "drag", "--json"))["S9"]["drag"]
    assert isinstance(drag, dict)
    assert drag["below_bare_bead"] is True


def test_nothing_measured_is_said(empty: Run) -> None:
    cure = (
        "No measured fly was found. Add the fly, film it falling and measure it: flybench fly add CODE --variant VARIANT, "
        "then flybench bench measure CLIP --fly CODE"
    )
    refused(empty("sink", "drag"), cure)
    refused(empty("sink", "at", "--temperature", "5 degC"), cure)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("code", "of", "variant"),
    [
        ("S2", "fly S2", "moss-hackle-12s"),
        ("moss-hackle-12s", "variant moss-hackle-12s", "moss-hackle-12s"),
        ("moss-hackle", "pattern moss-hackle", "moss-hackle-12"),
        ("s2", "fly S2", "moss-hackle-12s"),
    ],
)
def test_law_of_a_fly_a_variant_and_a_pattern(run: Run, code: str, of: str, variant: str) -> None:
    found = json.loads(run("sink", "law", code, "--json").out)
    assert (found["of"], found["variant"], found["length_m"]) == (of, variant, pytest.approx(3.1e-3))
    assert found["learned_from"]["flies"] == len(SPEEDS)
    assert found["ln_area_m2_at_re_1000"]["standard_uncertainty"] > 0
    assert 0 <= found["exponent"]["from_data"] <= 1
    lines = run("sink", "law", code).out.splitlines()
    assert lines[0] == f"Drag law of {of}"


def test_law_of_nothing(run: Run, catalog: Catalog) -> None:
    cure = "See what there is: flybench fly list, flybench variant list, flybench pattern list."
    refused(run("sink", "law", "moss"), f'CODE: there is no fly, variant or pattern "moss". {cure}')
    add_row(catalog, NOUNS["pattern"], {"code": "BARE", "name": "Bare", "style": "slick"})
    refused(
        run("sink", "law", "BARE"),
        "pattern BARE: it has no variant, so no drag law. Add one: flybench variant add CODE --pattern BARE",
    )


def test_law_where_nothing_was_measured_is_a_prior(empty: Run) -> None:
    said = empty("sink", "law", "MILL")
    assert said.code == 0
    text = flat(said.out)
    assert (
        "No fly of this pattern was measured and weighed, so the law is what style and physics lead one to"
        in text
    )
    assert (
        "No measured fly with a known weight was found, so this rests on physics and usual dressings alone"
        in text
    )


@pytest.mark.slow
def test_cold_water_slows_and_salt_water_too(run: Run) -> None:
    # Cold water is more viscous, the sea denser (and more viscous): both slow a sinking body.
    same, cold, salt, warm = (
        told(run("sink", "at", "--temperature", *where, "--json"))
        for where in (["18 degC"], ["1 degC"], ["18 degC", "--salinity", "35 g/kg"], ["29 degC"])
    )
    for code, (_, speed) in SPEEDS.items():
        speeds = [float(str(one[code]["sink_speed_m_s"])) for one in (same, cold, salt, warm)]
        assert speeds[0] == pytest.approx(speed, rel=1e-3)
        assert speeds[1] < speed
        assert speeds[2] < speed
        assert speeds[3] > speed


def test_other_water_for_people(run: Run) -> None:
    said = run("sink", "at", "--temperature", "1 degC", "style:hackled")
    head, *lines = said.out.splitlines()
    assert "at 1 °C, cm/s" in head
    assert [line.split()[0] for line in lines] == ["S1", "S2"]
    assert all("18 °C" in line and "%" in line for line in lines)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--temperature", "35 degC"],
            "--temperature: 35 degC is outside 0 to 30 degC. Give the temperature of the river.",
        ),
        (
            ["--temperature", "90 degF"],
            "--temperature: 90 degF is outside 32 to 86 degF. Give the temperature of the river.",
        ),
        (
            ["--temperature", "12"],
            '--temperature: "12" has no unit. Write it with its unit, for example "6 degC".',
        ),
        (
            ["--temperature", "-2 degC"],
            "--temperature: -2 degC is outside 0 to 30 degC. Give the temperature of the river.",
        ),
        (
            ["--temperature", "2,8 degC"],
            '--temperature: "2,8 degC" has a comma. Write "2.8 degC", with a decimal point.',
        ),
        (
            ["--temperature", "8 degC", "--salinity", "80 g/kg"],
            "--salinity: 80 g/kg is outside 0 to 42 g/kg. The sea has some 35 g/kg, a river 0 g/kg.",
        ),
        (
            ["--temperature", "8 degC", "colour:red"],
            'query: flies have no field "colour"; materials have one. The fields of flies are '
            f"{fields_of('fly')}.",
        ),
    ],
)
def test_water_that_is_refused(run: Run, options: list[str], message: str) -> None:
    refused(run("sink", "at", *options), message)


@pytest.mark.slow
@pytest.mark.parametrize("suffix", ["png", "pdf", "svg"])
@pytest.mark.parametrize("asked", [("predict", *PREDICTED), ("law", "moss-hackle")])
def test_pictures(run: Run, tmp_path: Path, asked: tuple[str, ...], suffix: str) -> None:
    path = tmp_path / f"drawn.{suffix}"
    said = run("sink", *asked, "--plot", path)
    assert said.code == 0, said.err
    assert path.read_bytes().startswith(MAGIC[suffix])
    assert len(path.read_bytes()) > 3000
    assert f"Wrote {path}\n" in said.err
    assert sorted(one.suffix for one in tmp_path.iterdir() if one.stem == "drawn") == [f".{suffix}"]


@pytest.mark.parametrize("asked", [("predict", *PREDICTED), ("law", "moss-hackle")])
def test_pictures_that_cannot_be_leave_nothing_behind(
    run: Run, tmp_path: Path, asked: tuple[str, ...]
) -> None:
    before = sorted(tmp_path.iterdir())
    refused(
        run("sink", *asked, "--plot", tmp_path / "drawn.gif"),
        '--plot: ".gif" is not a kind of picture that can be drawn. End its name in one of .png, .pdf, .svg.',
    )
    missing = tmp_path / "nowhere"
    refused(
        run("sink", *asked, "--plot", missing / "drawn.png"),
        f"{missing / 'drawn.png'}: there is no folder {missing}. Make it first or name another.",
    )
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.slow
@pytest.mark.parametrize("asked", [("predict", *PREDICTED), ("law", "moss-hackle"), ("compare", "S1", "S2")])
def test_a_picture_is_replaced_only_where_that_is_said(
    run: Run, tmp_path: Path, asked: tuple[str, ...]
) -> None:
    path = tmp_path / "mine.png"
    path.write_bytes(b"not to be lost")
    refused(
        run("sink", *asked, "--plot", path),
        f"{path}: exists already. Name another file, or add --overwrite to replace it.",
    )
    assert path.read_bytes() == b"not to be lost"
    assert run("sink", *asked, "--plot", path, "--overwrite").code == 0
    assert path.read_bytes().startswith(MAGIC["png"])
