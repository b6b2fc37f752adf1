"""Builds read off invented recipes, and variants made up for a question, which the catalog never gets to hold.

What a build should hold is read by hand off the recipe files in ``catalog``.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from shop import shop
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.patterns import Step
from flybench.catalog.tables.vocabulary import Part, Unit
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.sink.made_up_variants import variant_like
from flybench.jobs.sink.predict import Wish, predict
from flybench.shop.fly.builds import build_of
from flybench.shop.fly.weights import weight_of_variant
from flybench.sinking.drag.tied_fly import Build, usual_dressing

RECIPES = Path(__file__).parents[2] / "catalog"
MM = 1e-3
MILLIGRAM = 1e-6
GAPE_12, SHANK_12 = 4.9 * MM, 7.7 * MM
TURN_OF_HACKLE = 6
"""Step of the recipe moss-hackle that winds the hackle."""


@pytest.fixture(scope="module")
def ready_made(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the file of the shop with two recipes of the demo, made once."""
    made = tmp_path_factory.mktemp("builds") / "shop.sqlite"
    import_recipes(shop(made), [RECIPES / f"{name}.toml" for name in ("moss-hackle", "querrow-pin")])
    return made.read_bytes()


@pytest.fixture
def catalog(tmp_path: Path, ready_made: bytes) -> Catalog:
    path = tmp_path / "shop.sqlite"
    path.write_bytes(ready_made)
    return open_catalog(str(path), make=False)


def rows(session: Session) -> dict[str, int]:
    """Return how many rows every table holds."""
    return {
        name: session.scalar(select(func.count()).select_from(table)) or 0
        for name, table in Base.metadata.tables.items()
    }


def built(catalog: Catalog, code: str) -> Build:
    with catalog.reading() as session:
        return build_of(get(session, NOUNS["variant"], code))


def test_a_hackled_recipe(catalog: Catalog) -> None:
    build = built(catalog, "moss-hackle-12")
    assert (build.code, build.pattern, build.style) == ("moss-hackle-12", "moss-hackle", "hackled")
    sizes = (build.bead_diameter, build.hook_gape, build.hook_shank)
    assert sizes == pytest.approx((3.1 * MM, GAPE_12, SHANK_12))
    assert build.hackle_turns == 4
    assert build.loose_mass == pytest.approx(8 * MILLIGRAM)
    assert (build.coated, build.assumed) == (False, ())


def test_a_variant_changes_an_amount(catalog: Catalog) -> None:
    sparse = built(catalog, "moss-hackle-12s")
    assert sparse.hackle_turns == 2
    assert sparse.loose_mass == pytest.approx(8 * MILLIGRAM)


def test_a_coated_recipe_without_loose_dressing(catalog: Catalog) -> None:
    build = built(catalog, "querrow-pin-18")
    assert build.coated
    assert (build.hackle_turns, build.loose_mass, build.assumed) == (0, 0, ())


def test_a_bare_recipe_gets_the_usual_of_its_style(catalog: Catalog) -> None:
    slick, hackled = built(catalog, "MILL-28-14"), built(catalog, "A-0-16")
    for build in (slick, hackled):
        assert set(build.assumed) == {"dressing", "hook gape", "hook shank"}
    # Common practice, no source: a hackled fly has some turns of hackle, a slick one none.
    assert slick.hackle_turns == 0
    assert 1 <= hackled.hackle_turns <= 8
    assert hackled.bead_diameter is None
    # Common practice, no source: hooks of size 16 gape 3 to 5 mm.
    assert 3 * MM < hackled.hook_gape < 5 * MM


def test_what_is_made_up_is_like_the_variant_but_for_what_changed(catalog: Catalog) -> None:
    with catalog.reading() as session:
        made = variant_like(
            session, variant="moss-hackle-12", bead="bd-tu-sl-20", changes={TURN_OF_HACKLE: 1.0}
        )
        build = build_of(made)
    assert build.code == "moss-hackle hk-jig-12 bd-tu-sl-20 6=1"
    assert (build.hackle_turns, build.bead_diameter) == (1.0, pytest.approx(2.0 * MM))
    assert (build.hook_gape, build.loose_mass) == pytest.approx((GAPE_12, 8 * MILLIGRAM))


def test_what_the_other_variant_changed_stays_changed(catalog: Catalog) -> None:
    with catalog.reading() as session:
        made = variant_like(session, variant="moss-hackle-12s", bead="bd-tu-sl-20")
        assert build_of(made).hackle_turns == 2
        again = variant_like(session, variant="moss-hackle-12s", changes={TURN_OF_HACKLE: 3.0})
        assert build_of(again).hackle_turns == 3


def test_a_step_of_nothing_is_left_out(catalog: Catalog) -> None:
    with catalog.reading() as session:
        made = variant_like(
            session, pattern="moss-hackle", hook="hk-jig-12", bead="bd-tu-sl-31", changes={6: 0.0, 4: 0.0}
        )
        build = build_of(made)
    assert (build.hackle_turns, build.loose_mass) == (0, 0)
    assert "dressing" not in build.assumed


def test_no_bead(catalog: Catalog) -> None:
    with catalog.reading() as session:
        made = variant_like(session, variant="moss-hackle-12", bead="none")
        assert build_of(made).bead_diameter is None
        bare = weight_of_variant(made, Water(288.15)).weight
        beaded = weight_of_variant(get(session, NOUNS["variant"], "moss-hackle-12"), Water(288.15)).weight
    assert bare.weight.value < beaded.weight.value


def test_nothing_made_up_is_ever_written(catalog: Catalog) -> None:
    with catalog.reading() as session:
        before = rows(session)
    with catalog.writing() as session:
        for number in range(1, 4):
            made = variant_like(
                session, variant="moss-hackle-12", hook="hk-jig-16", bead="none", changes={6: float(number)}
            )
            build_of(made)
            weight_of_variant(made, Water(288.15))
        assert len(get(session, NOUNS["pattern"], "moss-hackle").variants) == 2
        assert not session.new
        assert not session.dirty
        session.flush()
        assert rows(session) == before
    wish = Wish(pattern="moss-hackle", hook="hk-jig-12", beads=("bd-tu-sl-20", "none"), steps={6: 2.0})
    predict(catalog, wish)
    with catalog.reading() as session:
        assert rows(session) == before
        assert len(get(session, NOUNS["pattern"], "moss-hackle").variants) == 2


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"pattern": "moss-hackle"}, "--hook: none was named. Name one: --hook CODE, see flybench material list kind:hook."),
        ({"pattern": "moss-hackle", "hook": "bd-tu-sl-31"}, "--hook: bd-tu-sl-31 is not a hook. See the hooks: flybench material list kind:hook."),
        ({"variant": "moss-hackle-12", "bead": "hk-jig-12"}, "--bead: hk-jig-12 is not a bead. See the beads: flybench material list kind:bead."),
        ({"variant": "moss-hackle-12", "bead": "bd-tu-sl-3l"}, 'material: there is no "bd-tu-sl-3l". Did you mean bd-tu-sl-31?'),
        ({"variant": "moss-hackle-21"}, 'variant: there is no "moss-hackle-21". Did you mean moss-hackle-12?'),
        ({"pattern": "moss"}, 'pattern: there is no "moss". See what there is: flybench pattern list.'),
        ({"variant": "moss-hackle-12", "changes": {9: 1.0}}, "--step: moss-hackle has no step 9 with an amount. Its steps with an amount: 2, 3, 4, 5, 6; see flybench pattern show moss-hackle."),
        ({"variant": "moss-hackle-12", "changes": {1: 1.0}}, "--step: moss-hackle has no step 1 with an amount. Its steps with an amount: 2, 3, 4, 5, 6; see flybench pattern show moss-hackle."),
        ({"variant": "MILL-28-14", "changes": {1: 1.0}}, "--step: MILL has no step 1 with an amount. Its steps with an amount: none; see flybench pattern show MILL."),
        ({"variant": "moss-hackle-12", "changes": {6: -1.0}}, "--step: -1 is not an amount for step 6. Give zero or more, and less than 1e+06."),
        ({"variant": "moss-hackle-12", "changes": {6: float("nan")}}, "--step: nan is not an amount for step 6. Give zero or more, and less than 1e+06."),
        ({"variant": "moss-hackle-12", "changes": {6: float("inf")}}, "--step: inf is not an amount for step 6. Give zero or more, and less than 1e+06."),
    ],
)  # fmt: skip
def test_what_cannot_be_made_up(catalog: Catalog, asked: dict[str, object], message: str) -> None:
    with catalog.reading() as session, pytest.raises(BadValueError) as caught:
        variant_like(session, **asked)  # type: ignore[arg-type]
    assert str(caught.value) == message


THREAD, WIRE, TINSEL, FEATHER, FUR = (
    ("thread", "T"),
    ("wire", "W"),
    ("rib", "R"),
    ("hackle", "F"),
    ("body", "U"),
)
"""Invented materials, kind and code; which of them stand off is common practice, no source."""
NO_MATERIAL = None


def of_steps(
    catalog: Catalog, *steps: tuple[Part, tuple[str, str] | None, float | None, Unit | None]
) -> Build:
    """Return the build of a slick pattern with these steps alone."""
    for kind, code in (THREAD, WIRE, TINSEL, FEATHER, FUR):
        add_row(catalog, NOUNS["material"], {"code": code, "kind": kind, "name": code})
    with catalog.writing() as session:
        pattern = get(session, NOUNS["pattern"], "ÄSCHE")
        for number, (part, material, amount, unit) in enumerate(steps, 1):
            used = None if material is None else get(session, NOUNS["material"], material[1])
            pattern.steps.append(Step(position=number, part=part, material=used, amount=amount, unit=unit))
    return built(catalog, "A-0-16")


@pytest.mark.parametrize(
    ("step", "turns", "loose"),
    [
        ((Part.HACKLE, FEATHER, 3.0, Unit.TURN), 3, 0),
        ((Part.COLLAR, FEATHER, 2.0, Unit.TURN), 2, 0),
        ((Part.TAIL, FEATHER, 2.0, Unit.TURN), 2, 0),
        ((Part.HACKLE, NO_MATERIAL, 3.0, Unit.TURN), 3, 0),
        ((Part.COLLAR, THREAD, 5.0, Unit.TURN), 0, 0),
        ((Part.COLLAR, WIRE, 5.0, Unit.TURN), 0, 0),
        ((Part.BODY, FUR, 9.0, Unit.TURN), 0, 0),
        ((Part.HACKLE, FEATHER, 1.0, Unit.PIECE), 1, 0),
        ((Part.WING, FEATHER, 2.0, Unit.PIECE), 2, 0),
        ((Part.TAIL, FEATHER, 5.0, Unit.PIECE), 0, 0),
        ((Part.BODY, FUR, 8.0, Unit.MILLIGRAM), 0, 8),
        ((Part.TAIL, FUR, 8.0, Unit.MILLIGRAM), 0, 8),
        ((Part.COLLAR, FUR, 0.004, Unit.GRAM), 0, 4),
        ((Part.BODY, WIRE, 20.0, Unit.MILLIGRAM), 0, 0),
        ((Part.RIB, WIRE, 5.0, Unit.MILLIGRAM), 0, 0),
        ((Part.RIB, TINSEL, 6.0, Unit.TURN), 0, 0),
        ((Part.BALLAST, WIRE, 40.0, Unit.MILLIGRAM), 0, 0),
    ],
)
def test_what_counts_as_standing_off(catalog: Catalog, step: object, turns: float, loose: float) -> None:
    coat = (Part.COATING, NO_MATERIAL, None, None)
    build = of_steps(catalog, step, coat)  # type: ignore[arg-type]
    assert (build.hackle_turns, build.loose_mass) == (turns, pytest.approx(loose * MILLIGRAM))
    assert build.coated
    assert "dressing" not in build.assumed


@pytest.mark.parametrize(
    "step",
    [(Part.BODY, FUR, None, None), (Part.HACKLE, NO_MATERIAL, None, None), (Part.THREAD, THREAD, 200.0, Unit.MILLIMETRE)],
)  # fmt: skip
def test_a_dressing_without_its_amount_is_the_usual_one(catalog: Catalog, step: object) -> None:
    build = of_steps(catalog, step)  # type: ignore[arg-type]
    assert "dressing" in build.assumed
    assert (build.hackle_turns, build.loose_mass) == usual_dressing("hackled", build.hook_gape)


def test_a_body_of_wire_without_its_amount_leaves_the_hackle_as_told(catalog: Catalog) -> None:
    build = of_steps(catalog, (Part.BODY, WIRE, None, None), (Part.HACKLE, FEATHER, 3.0, Unit.TURN))
    assert (build.hackle_turns, "dressing" in build.assumed) == (3, False)
