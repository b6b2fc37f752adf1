"""The sink commands on an invented shop: what they tell, refuse, and never write."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import measured
from sinking_shop import flat, refused
from sqlalchemy import func, select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.patterns import Variant, VariantChange
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.sink.made_up_variants import variant_like
from flybench.shop.fly.builds import build_of

Run = Callable[..., Said]
RECIPES = Path(__file__).parents[3] / "catalog"
SPEEDS = {
    "moss-hackle-12": 0.30,
    "slate-plump-10": 0.34,
    "latchlight-slip-14": 0.75,
    "felt-ferryman-12": 0.42,
    "slow-curtain-14": 0.25,
    "reed-slip-12": 0.80,
}


@pytest.fixture(scope="session")
def all_recipes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a catalog of all invented recipes with six measured flies, made once and copied for each test."""
    path = tmp_path_factory.mktemp("recipes") / "shop.sqlite"
    catalog = open_catalog(str(path))
    import_recipes(catalog, [RECIPES])
    for number, (variant, speed) in enumerate(SPEEDS.items()):
        add_row(catalog, NOUNS["fly"], {"code": f"F{number}", "variant": variant})
        measured(catalog, f"F{number}", speed, 0.01 * speed)
    catalog.engine.dispose()
    return path


@pytest.fixture
def catalog(all_recipes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    path = tmp_path / "shop.sqlite"
    shutil.copy(all_recipes, path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    monkeypatch.chdir(tmp_path)
    return open_catalog(str(path))


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*arguments: str) -> Said:
        return flybench(capsys, *arguments)

    return call


def test_builds_say_what_drags(catalog: Catalog) -> None:
    with catalog.reading() as session:
        moss, short = (
            build_of(get(session, NOUNS["variant"], code)) for code in ("moss-hackle-12", "moss-hackle-12s")
        )
        slick = build_of(get(session, NOUNS["variant"], "latchlight-slip-14"))
    assert (moss.hackle_turns, short.hackle_turns) == (4.0, 2.0)
    assert moss.loose_mass == pytest.approx(8e-6)
    assert (moss.coated, slick.coated) == (False, True)
    assert (slick.hackle_turns, slick.loose_mass) == (0.0, 0.0)
    assert moss.bead_diameter == pytest.approx(3.1e-3)


@pytest.mark.slow
def test_a_made_up_variant_is_never_written(catalog: Catalog, run: Run) -> None:
    def counted() -> tuple[int, int]:
        with catalog.reading() as session:
            return tuple(
                session.scalar(select(func.count()).select_from(table)) or 0
                for table in (Variant, VariantChange)
            )  # type: ignore[return-value]

    before = counted()
    with catalog.writing() as session:
        made = variant_like(session, variant="moss-hackle-12", bead="bd-tu-sl-28", changes={6: 1.0})
        assert made not in session
        assert build_of(made).hackle_turns == 1.0
    run("sink", "predict", "moss-hackle-12", "--bead", "bd-tu-sl-28", "--step", "6=3")
    run("sink", "gaps")
    assert counted() == before


@pytest.mark.slow
def test_drag_is_null_without_a_weight_and_other_water_still_works(catalog: Catalog, run: Run) -> None:
    run("fly", "change", "F0", "--mass", "20 mg")
    told = json.loads(run("sink", "drag", "F0", "--json").out)
    assert told["flies"][0]["drag"] is None
    assert re.fullmatch(
        r"fly F0: no weight, so no drag: fly\.mass: 0\.0200[0-9]* g is less than its hook alone, 0\.[0-9]+ g\. "
        r"Weigh again, or correct the size or metal of the part\.",
        told["remarks"][0],
    )
    there = json.loads(run("sink", "at", "F0", "--temperature", "1 degC", "--json").out)["flies"][0]
    assert there["density_assumed"]
    assert there["sink_speed_m_s"] < there["measured_m_s"]


@pytest.mark.slow
def test_a_drag_below_the_bare_bead_s_is_flagged_and_not_learned_from(catalog: Catalog, run: Run) -> None:
    measured_again = ("fly", "add", "X1", "--variant", "latchlight-slip-14")
    assert run(*measured_again).code == 0
    measured(catalog, "X1", 1.6, 0.01)
    assert "X1: it drags less than its bead alone would." in run("sink", "drag", "X1").err
    told = json.loads(run("sink", "predict", "moss-hackle-12s", "--json").out)
    assert told["learned_from"]["not_learned_from"] == ["X1"]


@pytest.mark.slow
def test_predict_tells_interval_basis_and_what_is_outside(run: Run) -> None:
    told = json.loads(run("sink", "predict", "moss-hackle-12s", "--json").out)
    fly = told["flies"][0]
    assert fly["interval_m_s"][0] < fly["sink_speed_m_s"] < fly["interval_m_s"][1]
    assert fly["predicted"]
    assert told["learned_from"]["flies"] == 6
    assert told["learned_from"]["left_out"]["variants"] == 6
    said = run("sink", "predict", "wet-errand-12", "moss-hackle-12s")
    assert "no fly of the pattern wet-errand was measured" in flat(said.err)
    assert (
        "Each of the 6 variants was predicted from the others as a test: the predictions were off by"
        in flat(said.out)
    )


@pytest.mark.slow
def test_the_bead_for_a_speed(run: Run) -> None:
    said = run("sink", "predict", "moss-hackle-12", "--for-speed", "30 cm/s")
    assert "For 30 cm/s take bd-" in said.out
    reached = run("sink", "predict", "moss-hackle-12", "--for-speed", "250 cm/s")
    assert "None of these beads reaches 250 cm/s" in reached.out


@pytest.mark.slow
def test_laws_of_fly_variant_and_pattern(run: Run) -> None:
    for code in ("F0", "moss-hackle-12", "moss-hackle"):
        told = json.loads(run("sink", "law", code, "--json").out)
        assert 0 <= told["exponent"]["from_data"] <= 1
        assert told["variant"] == "moss-hackle-12"
    assert len(json.loads(run("sink", "law", "F0", "--json").out)["points"]) == 1


@pytest.mark.slow
def test_salt_water_bears_more_than_fresh(run: Run) -> None:
    fresh, salt = (
        json.loads(run("sink", "at", "F0", "--temperature", "10 degC", "--salinity", text, "--json").out)[
            "flies"
        ][0]
        for text in ("0 g/kg", "35 g/kg")
    )
    assert salt["sink_speed_m_s"] < fresh["sink_speed_m_s"]


@pytest.mark.slow
def test_gaps_name_what_fills_them(run: Run) -> None:
    told = json.loads(run("sink", "gaps", "--json").out)
    speeds = [one["sink_speed_m_s"] for one in told["box"]]
    assert speeds == sorted(speeds)
    wide = [one for one in told["gaps"] if one["below"]["sink_speed_m_s"] == pytest.approx(0.42)]
    assert len(wide) == 1
    for one in wide[0]["fillers"]:
        assert one["odds"] >= 0.5
        assert 0.42 < one["sink_speed_m_s"] < 0.75


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("sink at --temperature 35degC", "--temperature: 35degC is outside 0 to 30 degC. Give the temperature of the river."),
        ("sink predict", "VARIANT: none was named. Name variants of flybench variant list, or a --pattern with --hook and --bead."),
        ("sink predict nope", 'variant: there is no "nope". See what there is: flybench variant list.'),
        ("sink predict moss-hackle-12 --step 99=1", "--step: moss-hackle has no step 99 with an amount. Its steps with an amount: 2, 3, 4, 5, 6; see flybench pattern show moss-hackle."),
        ("sink predict moss-hackle-12 --bead hk-jig-12", "--bead: hk-jig-12 is not a bead. See the beads: flybench material list kind:bead."),
        ("sink predict --pattern moss-hackle", "--hook: none was named. Name one: --hook CODE, see flybench material list kind:hook."),
        ("sink predict moss-hackle-12 --for-speed 9m/s", "--for-speed: 9m/s is outside 0.01 to 3 m/s. Give a sink speed."),
        ("sink law nope", 'CODE: there is no fly, variant or pattern "nope". See what there is: flybench fly list, flybench variant list, flybench pattern list.'),
        ("sink law moss-hackle --plot law.bmp", '--plot: ".bmp" is not a kind of picture that can be drawn. End its name in one of .png, .pdf, .svg.'),
        ("sink gaps --wider-than 1", "--wider-than: 1 is outside 1.02 to 10. Give how many times faster the next fly may be, such as 1.25."),
        ("sink gaps --box code:nope", "The box holds no variant, and a gap lies between two. Ask for more with --box, as in --box style:slick"),
        ("sink drag code:nope", "No measured fly was found. Add the fly, film it falling and measure it: flybench fly add CODE --variant VARIANT, then flybench bench measure CLIP --fly CODE"),
    ],
)  # fmt: skip
def test_refusals(run: Run, tmp_path: Path, arguments: str, message: str) -> None:
    refused(run(*arguments.split()), message)
    assert not (tmp_path / "law.bmp").exists()


def test_labels_mark_predicted_speeds_only_where_asked(run: Run, tmp_path: Path) -> None:
    import pypdfium2

    def text(*more: str) -> str:
        assert run("print", "labels", "moss-hackle", "--overwrite", *more).code == 0
        pages = pypdfium2.PdfDocument(tmp_path / "labels.pdf")
        return " ".join(page.get_textpage().get_text_range() for page in pages)

    assert text().count("predicted") == 0
    assert text("--predict").count("predicted") == 1
