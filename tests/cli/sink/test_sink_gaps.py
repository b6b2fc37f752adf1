"""Gaps in a box, and the cheapest fly from stock, as a user meets them.

Flies, recipes, prices and speeds are invented. Numbers are worked out from the recipe files in ``catalog`` by hand,
or from physics named beside them.
"""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from console import Said
from shop import measured
from sinking_shop import flat, floating, refused
from sqlalchemy import delete

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import FlySpeed, VariantSpeed
from flybench.jobs.shelf.rows import add_row

Run = Callable[..., Said]


def test_a_box_of_one_has_no_gaps(run: Run) -> None:
    cure = "and a gap lies between two. Ask for more with --box, as in --box style:slick"
    refused(run("sink", "gaps", "--box", "code:moss-hackle-12s"), f"The box holds one variant, {cure}")
    refused(run("sink", "gaps", "--box", "style:soft"), f"The box holds no variant, {cure}")


def test_an_unmeasured_shop_has_no_box(empty: Run) -> None:
    refused(
        empty("sink", "gaps"),
        "The box holds no variant, and a gap lies between two. Ask for more with --box, as in --box style:slick",
    )


def wide_box(catalog: Catalog) -> None:
    """Measure two flies far apart: nothing between 0.10 m/s and 0.95 m/s."""
    with catalog.writing() as session:
        for table in (FlySpeed, VariantSpeed):
            session.connection().execute(delete(table))
    for code, variant, speed in (("G1", "querrow-pin-18b", 0.10), ("G2", "slate-plump-10", 0.95)):
        add_row(catalog, NOUNS["fly"], {"code": code, "variant": variant})
        measured(catalog, code, speed, 0.004)


@pytest.mark.slow
def test_a_gap_and_the_cheapest_fly_from_stock(run: Run, catalog: Catalog) -> None:
    wide_box(catalog)
    for code in ("bd-tu-sl-31", "th-moss", "ta-coq", "du-olive", "wi-cop-10", "ha-stiff", "hk-jig-12"):
        assert run("stock", "in", code, "2000", "--material", "--why", "bought").code == 0
    found = json.loads(run("sink", "gaps", "--json").out)
    assert [one["code"] for one in found["box"]] == ["querrow-pin-18b", "slate-plump-10"]
    assert found["stock_kept"] is True
    (gap,) = found["gaps"]
    first = gap["fillers"][0]
    assert (first["code"], first["lacking"], first["unpriced"]) == ("moss-hackle-12s", [], [])
    # Bead 7.85/25, thread 2.40 x 650/50000, tail 6.40 x 5/300, dubbing 2.60 x 8/2000, wire 2.10 x 6/800,
    # hackle 7.20 x 2/150, hook 6.50/25: prices and amounts of the recipe file.
    cost = (
        7.85 / 25
        + 2.4 * 650 / 50000
        + 6.4 * 5 / 300
        + 2.6 * 8 / 2000
        + 2.1 * 6 / 800
        + 7.2 * 2 / 150
        + 6.5 / 25
    )
    assert first["cost"] == pytest.approx(cost, rel=1e-9)
    assert first["odds"] >= 0.5
    assert gap["below"]["predicted"] is gap["above"]["predicted"] is False
    said = run("sink", "gaps")
    text = flat(said.out)
    assert "The box holds 2 variants, from querrow-pin-18b at 10 cm/s to slate-plump-10 at 95 cm/s." in text
    assert "There is nothing between querrow-pin-18b at 10 cm/s and slate-plump-10 at 95 cm/s." in text
    first_filler = text.split("Tie ")[1]
    assert first_filler.startswith("moss-hackle-12s on bd-tu-sl-31: predicted ")
    assert f"Its materials cost {cost:.2f}." in first_filler
    assert "Not in stock" not in first_filler


@pytest.mark.slow
def test_what_has_no_price_is_named_and_not_called_cheapest(run: Run, catalog: Catalog) -> None:
    wide_box(catalog)
    assert run("material", "change", "bd-tu-sl-31", "--price", "", "--pack", "").code == 0
    (gap,) = json.loads(run("sink", "gaps", "--json").out)["gaps"]
    assert [one["unpriced"] for one in gap["fillers"]] == [[], [], []]
    for code in ("bd-tu-sl-31", "th-moss", "ta-coq", "du-olive", "wi-cop-10", "ha-stiff", "hk-jig-12"):
        run("stock", "in", code, "2000", "--material", "--why", "bought")
    (gap,) = json.loads(run("sink", "gaps", "--json").out)["gaps"]
    first = gap["fillers"][0]
    assert (first["code"], first["unpriced"]) == ("moss-hackle-12s", ["bd-tu-sl-31"])
    assert "and that of bd-tu-sl-31, which has no price." in flat(run("sink", "gaps").out)


@pytest.mark.slow
def test_no_stock_kept_is_said_with_a_command_that_is_there(run: Run, catalog: Catalog) -> None:
    wide_box(catalog)
    said = run("sink", "gaps")
    assert flat(said.err) == (
        "No stock of materials is kept, so it is not known whether they are at hand. To keep it: flybench stock in CODE "
        "AMOUNT --material"
    )
    assert run("stock", "in", "ta-coq", "5", "--material").code == 0


@pytest.mark.slow
def test_what_floats_is_not_tried(run: Run, catalog: Catalog) -> None:
    wide_box(catalog)
    before = json.loads(run("sink", "gaps", "--json").out)["tried"]
    floating(catalog)
    said = run("sink", "gaps", "--json")
    assert said.code == 0
    assert json.loads(said.out)["tried"] == before


@pytest.mark.slow
def test_no_gap(run: Run, catalog: Catalog) -> None:
    wide_box(catalog)
    said = run("sink", "gaps", "--wider-than", "9.9")
    assert said.code == 0
    assert "It has no gap: no fly is more than 9.9 times as fast as the next slower one." in flat(said.out)
    assert json.loads(run("sink", "gaps", "--wider-than", "9.9", "--json").out)["gaps"] == []


@pytest.mark.parametrize(
    ("ratio", "shown"), [("1", "1"), ("0", "0"), ("-2", "-2"), ("11", "11"), ("nan", "nan")]
)
def test_what_is_no_ratio_of_speeds(run: Run, ratio: str, shown: str) -> None:
    refused(
        run("sink", "gaps", "--wider-than", ratio),
        f"--wider-than: {shown} is outside 1.02 to 10. Give how many times faster the next fly may be, such as 1.25.",
    )


@pytest.mark.slow
def test_a_box_not_measured_is_predicted_and_says_so(run: Run) -> None:
    said = run("sink", "gaps", "--box", "slate-plump", "--wider-than", "1.1")
    assert said.code == 0
    assert flat(said.out).split("It has")[0].count("predicted") == 2
