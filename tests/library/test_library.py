"""The library: what may be given, what comes back, and that it says the same as the commands."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pint
import pytest
from console import flybench
from shop import shop

import flybench as fb
from flybench.bench.sheet.keys import ARGUMENTS, QUANTITIES
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.tables.flies import BenchRun
from flybench.jobs.shelf.rows import change_row
from flybench.library.typed import points_of, text_of
from flybench.shop.river.rig_texts import RigTexts

pytestmark = pytest.mark.usefixtures("clips_read_once")

CLIPS = Path(__file__).resolve().parents[2] / "bench_videos" / "clips"
UNITS = pint.UnitRegistry()
WATER = {"depth": "1.2 m", "surface_speed": "0.6 m/s", "bed": "cobble"}


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    """Return a demo clip with its sheet beside it."""
    for ending in (".mp4", ".toml"):
        shutil.copy(CLIPS / f"reed-slip{ending}", tmp_path / f"drop{ending}")
    return tmp_path / "drop.mp4"


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ("18 degC", "18 degC"),
        (UNITS.Quantity(250, "mm"), "0.25 m"),
        (UNITS.Quantity(18, "degC"), "291.15 K"),
        (UNITS.Quantity(30, "cm/s"), "0.3 m/s"),
        (UNITS.Quantity(240, "1/s"), "240.0 Hz"),
        (UNITS.Quantity(8, "ms"), "0.008 s"),
        (UNITS.Quantity(0.21, "g"), "0.00021 kg"),
        (UNITS.Quantity(0.6, ""), "0.6"),
    ],
)
def test_a_quantity_becomes_the_text_of_an_option(given: object, text: str) -> None:
    number, _, unit = text.partition(" ")
    found, _, found_unit = text_of(given, "it").partition(" ")
    if isinstance(given, str):
        assert text_of(given, "it") == text
    else:
        assert (float(found), found_unit) == (pytest.approx(float(number), rel=1e-12), unit)


def test_an_uncertainty_of_pint_is_a_standard_one_and_is_doubled() -> None:
    """JCGM 100:2008, 6.2.1: the expanded uncertainty is k times the standard one; texts hold k = 2."""

    class Number:
        nominal_value, std_dev = 0.48, 0.0025

    class Given:
        magnitude, dimensionality = Number(), {"[length]": 1}

        def to_base_units(self) -> Given:
            return self

    assert text_of(Given(), "distance") == "0.48 +- 0.005 m"


def test_a_bare_number_is_refused() -> None:
    with pytest.raises(fb.FlybenchError) as refused:
        text_of(18, "temperature")
    assert str(refused.value) == (
        'temperature: 18 has no unit. Give a text such as "18 degC" or "250 mm", or a quantity of pint.'
    )


@pytest.mark.parametrize("given", [[(1, 2), (3, 4)], "1,2 3,4", ((1.0, 2.0), (3.0, 4.0))])
def test_points(given: object) -> None:
    assert points_of(given) == [[1.0, 2.0], [3.0, 4.0]]  # type: ignore[arg-type]


@pytest.mark.parametrize("given", ["1,2", [(1, 2)], [(1, 2, 3), (4, 5, 6)], [("a", 2), (3, 4)], 7 * [(1, 2)]])
def test_what_are_not_two_pixels(given: object) -> None:
    with pytest.raises(fb.FlybenchError) as refused:
        points_of(given)  # type: ignore[arg-type]
    assert str(refused.value) == (
        f"points: {given!r} are not two pixels. Give for example [(120, 80), (120, 900)]."
    )


def test_importing_flybench_loads_nothing_heavy() -> None:
    heavy = ("numpy", "scipy", "cv2", "av", "sqlalchemy", "matplotlib", "pint", "click")
    code = f"import sys, flybench; print([one for one in {heavy} if one in sys.modules], 'measure' in dir(flybench))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[] True\n"


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match=r"^module 'flybench' has no attribute 'nonsense'$"):
        _ = fb.nonsense


def test_every_name_of_the_door_is_there() -> None:
    assert all(getattr(fb, name) is not None for name in fb.__all__)


@pytest.mark.slow
def test_a_run_says_what_the_command_says(clip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    truth = json.loads((CLIPS / "reed-slip.truth.json").read_text(encoding="utf-8"))["sink_speed_m_s"]
    run = fb.measure(clip)
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--json")
    assert run.record == json.loads(said.out)
    assert run.speed is not None
    assert run.speed.value == run.record["sink_speed_m_s"]
    assert run.speed.value == pytest.approx(truth, abs=3 * run.speed.standard_uncertainty)
    assert repr(run).startswith(f"<run: {run.verdict}, 41.")
    assert str(run) == flybench(capsys, "bench", "measure", clip, "--no-report").out.rstrip("\n")
    assert len(run.rows()) == len(run.drops)


@pytest.mark.slow
def test_a_run_is_kept_with_its_sheet_as_it_was_written(clip: Path, tmp_path: Path) -> None:
    """The catalog's weights of the fly are used, but stay out of the sheet: they may still be corrected."""
    shop(tmp_path / "shop.sqlite")
    catalog = fb.open_catalog(tmp_path / "shop.sqlite")
    change_row(catalog.catalog, NOUNS["fly"], "M1", {"mass-in-water": "0.15 g +- 2 mg"})
    sheet = clip.with_suffix(".toml")
    sheet.write_text(sheet.read_text(encoding="utf-8").split("[fly]")[0], encoding="utf-8")
    run = fb.measure(clip, fly="M1", catalog=catalog)
    # Standard acceleration of free fall: 9.80665 m/s2 (3rd CGPM, 1901).
    assert run.record["drag"]["submerged_weight_n"] == pytest.approx(0.15e-3 * 9.80665, rel=1e-9)
    with catalog.catalog.reading() as session:
        kept = session.get_one(BenchRun, run.number)
        assert (kept.fly.code, kept.sheet["fly"]) == ("M1", {"code": "M1"})


@pytest.mark.slow
def test_a_run_in_a_notebook_and_as_a_picture(clip: Path, tmp_path: Path) -> None:
    run = fb.measure(str(clip))
    page = run._repr_html_()
    assert page.startswith("<pre>GOOD")
    assert "data:image/png;base64," in page
    run.plot(tmp_path / "run.png")
    with pytest.raises(fb.FlybenchError) as refused:
        run.plot(tmp_path / "run.png")
    assert str(refused.value) == (
        f"{tmp_path / 'run.png'}: exists already. Name another file, or add --overwrite to replace it."
    )
    pandas = pytest.importorskip("pandas")
    frame = run.to_frame()
    assert isinstance(frame, pandas.DataFrame)
    assert list(frame["sink_speed_m_s"]) == [drop["sink_speed_m_s"] for drop in run.drops]


def test_an_unknown_argument_is_a_type_error_that_names_the_known(clip: Path) -> None:
    with pytest.raises(TypeError) as refused:
        fb.measure(clip, temprature="18 degC")
    known = ", ".join(sorted(name for name, key in ARGUMENTS.items() if key in QUANTITIES))
    assert str(refused.value) == f"measure() has no argument 'temprature'. It takes: {known}"
    with pytest.raises(TypeError) as refused:
        fb.drift("30 cm/s, 2 mN", dept="1 m")
    known = ", ".join(sorted(one.name for one in fields(RigTexts)))
    assert str(refused.value) == f"drift() has no argument 'dept'. It takes: {known}"


@pytest.mark.slow
def test_a_drift_says_what_the_command_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "none.sqlite"))  # typed flies need no catalog
    given = ["--point", "35 cm/s, 3 mN", "--depth", "1.2 m", "--surface-speed", "0.6 m/s", "--bed", "cobble"]
    said = flybench(capsys, "rig", "drift", *given, "--seconds", "4", "--draws", "20", "--json")
    assert said.code == 0, said.err
    found = fb.drift("35 cm/s, 3 mN", seconds=4, draws=20, **WATER)
    assert found.record == json.loads(said.out)
    assert set(found.rows()[0]) == {"time_s", "point_x_m", "point_depth_m"}
    assert not (tmp_path / "none.sqlite").exists()


def test_a_catalog_that_is_not_there_is_no_new_one(tmp_path: Path) -> None:
    with pytest.raises(fb.FlybenchError):
        fb.open_catalog(tmp_path / "typo.sqlite")
    assert not (tmp_path / "typo.sqlite").exists()


def test_lists_of_a_shop_are_those_of_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = fb.open_catalog(tmp_path / "shop.sqlite", make=True)
    made.add(
        "material",
        "B28",
        kind="bead",
        name="A bead",
        diameter=UNITS.Quantity(2.8, "mm"),
        metal="tungsten",
        bore="slotted",
    )
    said = flybench(capsys, "material", "list", "kind:bead", "--json", "--catalog", tmp_path / "shop.sqlite")
    assert made.materials("kind:bead").rows() == json.loads(said.out)
    assert repr(made.materials()) == "<1 material>"
    assert repr(made.flies("bead:2.8")) == "<0 flies>"


def test_what_has_no_picture_says_so(tmp_path: Path) -> None:
    with pytest.raises(fb.FlybenchError) as refused:
        fb.flags("hand-held").plot()
    assert str(refused.value) == "Result: has no picture. Use print(...) or to_frame()."


def test_without_pandas_a_table_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(fb.FlybenchError) as refused:
        fb.flags("hand-held").to_frame()
    assert str(refused.value) == (
        "to_frame: needs pandas, which is not installed. Install it (pip install pandas), or use rows()."
    )


def test_a_box_and_a_file_of_one_are_not_both_taken(tmp_path: Path) -> None:
    with pytest.raises(fb.FlybenchError) as error:
        fb.choose("bead:2.8", box_csv=tmp_path / "box.csv", **WATER)
    assert str(error.value) == "box and box_csv: give the one or the other."
