"""The commands as a user meets them."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import textwrap
import tomllib
from pathlib import Path

import pytest
from console import flybench

from flybench.bench.sheet.keys import ARGUMENTS
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.flags import FLAGS
from flybench.jobs.demo import RiverSeen, ShelfSeen, Step, run_demo, shipped_clips

Capture = pytest.CaptureFixture[str]
pytestmark = pytest.mark.usefixtures("clips_read_once")

# The machine form agreed for this command: key -> keys of what is inside.
CONTRACT: dict[str, set[str]] = {
    "clip": {
        "name",
        "sha256",
        "frames",
        "width",
        "height",
        "rotation",
        "duration_s",
        "capture_rate_hz",
        "stretch",
    },
    "scale": {"source", "mm_per_px", "relative_standard_uncertainty"},
    "free_water": {"sink_speed_m_s", "standard_uncertainty_m_s", "wall_factor"},
    "drag": {"submerged_weight_n", "drag_area_m2", "drag_coefficient", "reference_area_m2", "reynolds"},
}
DROP = {
    "start_s",
    "end_s",
    "frames_used",
    "sink_speed_m_s",
    "standard_uncertainty_m_s",
    "start_speed_m_s",
    "response_time_s",
    "terminal_share",
    "path_tilt_deg",
    "residual_rms_mm",
    "used",
    "flags",
}
TOP = {
    "flybench",
    "clip",
    "scale",
    "drops",
    "sink_speed_m_s",
    "standard_uncertainty_m_s",
    "coverage_factor",
    "expanded_uncertainty_m_s",
    "degrees_of_freedom",
    "free_water",
    "drag",
    "budget",
    "flags",
    "verdict",
}


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    for ending in (".mp4", ".toml"):
        shutil.copyfile(shipped_clips() / f"moss-hackle{ending}", tmp_path / f"moss-hackle{ending}")
    return tmp_path / "moss-hackle.mp4"


def test_help_is_quick_because_it_imports_little() -> None:
    code = (
        "import sys\nsys.argv = ['flybench', '--help']\nfrom flybench.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print(sorted({'numpy', 'cv2', 'av', 'scipy', 'matplotlib', 'pint'} & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


@pytest.mark.parametrize("verb", ["card", "plan", "measure", "sheet"])
def test_every_command_has_help(verb: str, capsys: Capture) -> None:
    said = flybench(capsys, "bench", verb, "--help")
    assert said.code == 0
    assert said.out.startswith(f"Usage: flybench bench {verb}")


@pytest.mark.slow
def test_machine_form_is_all_there_is_on_standard_output(clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--json", "--no-report")
    told = json.loads(said.out)
    assert said.code == 0
    assert said.err == ""
    assert set(told) >= TOP
    for name, keys in CONTRACT.items():
        assert set(told[name]) >= keys, name
    assert all(set(drop) >= DROP for drop in told["drops"])
    assert told["coverage_factor"] == 2
    assert told["expanded_uncertainty_m_s"] == pytest.approx(2 * told["standard_uncertainty_m_s"])
    squares = sum(line["standard_uncertainty_m_s"] ** 2 for line in told["budget"])
    assert squares**0.5 == pytest.approx(told["standard_uncertainty_m_s"])
    assert told["verdict"] == "good"


@pytest.mark.slow
def test_measured_speed_of_the_shipped_clip_is_the_one_it_was_rendered_from(
    clip: Path, capsys: Capture
) -> None:
    """Truth: the terminal speeds in the clip's truth file, put into the equations of motion."""
    said = flybench(capsys, "bench", "measure", clip, "--json", "--no-report")
    told = json.loads(said.out)
    truth = json.loads((shipped_clips() / "moss-hackle.truth.json").read_text(encoding="utf-8"))
    for drop, true in zip(told["drops"], truth["drops"], strict=True):
        assert drop["sink_speed_m_s"] == pytest.approx(true["terminal_speed_m_s"], rel=0.01)


@pytest.mark.slow
def test_verdict_comes_first_and_the_page_is_written(clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip)
    assert said.code == 0
    assert said.out.startswith("GOOD: 28.0 ± 0.4 cm/s (")
    assert (clip.parent / "moss-hackle.bench.png").stat().st_size > 50_000
    assert said.err == f"Wrote {clip.parent / 'moss-hackle.bench.png'}\n"


@pytest.mark.slow
def test_options_go_before_the_sheet(clip: Path, capsys: Capture) -> None:
    plain = json.loads(flybench(capsys, "bench", "measure", clip, "--json", "--no-report").out)
    longer = json.loads(
        flybench(capsys, "bench", "measure", clip, "--bar", "99 mm", "--json", "--no-report").out
    )
    assert longer["sink_speed_m_s"] / plain["sink_speed_m_s"] == pytest.approx(0.99, abs=0.001)
    assert "card-size" in longer["flags"]


@pytest.mark.slow
def test_typed_uncertainty_is_carried(clip: Path, capsys: Capture) -> None:
    loose = json.loads(
        flybench(capsys, "bench", "measure", clip, "--gap", "12 mm +- 12 mm", "--json", "--no-report").out
    )
    line = next(line for line in loose["budget"] if line["source"].startswith("gap"))
    # 6 mm over the apparent distance 480 + 4/1.49 + 70/1.333 mm, divided by n = 1.333: near-normal formula.
    assert line["standard_uncertainty_m_s"] / loose["sink_speed_m_s"] == pytest.approx(
        6 / 1.333 / 535.2, rel=0.03
    )


def test_sheet_is_started_and_can_be_read(tmp_path: Path, capsys: Capture) -> None:
    said = flybench(
        capsys,
        "bench",
        "sheet",
        tmp_path / "a.mp4",
        "--card",
        "--temperature",
        "12 degC",
        "--tank-width",
        "200 mm",
    )
    assert said.code == 0
    settings = read_sheet(tomllib.loads((tmp_path / "a.toml").read_text(encoding="utf-8")))
    assert settings.temperature == pytest.approx(285.15)
    assert settings.tank.width == pytest.approx(0.2)
    assert settings.scale.card
    again = flybench(capsys, "bench", "sheet", tmp_path / "a.mp4")
    assert again.code == 1
    assert again.err == (
        f"Error: {tmp_path / 'a.toml'}: exists already. Name another file, or add --overwrite to replace it.\n"
    )
    filled = ("--temperature", "14 degC", "--overwrite")
    assert flybench(capsys, "bench", "sheet", tmp_path / "a.mp4", *filled).code == 0
    settings = read_sheet(
        tomllib.loads((tmp_path / "a.toml").read_text(encoding="utf-8")) | {"scale": {"card": "in water"}}
    )
    assert settings.temperature == pytest.approx(287.15)
    mine = flybench(capsys, "bench", "sheet", tmp_path / "a.mp4", "--output", tmp_path / "mine.toml")
    assert (mine.code, mine.err) == (0, f"Wrote {tmp_path / 'mine.toml'}\n")
    assert mine.out == (
        "Fill in what you measured, then:\n"
        f"  flybench bench measure {tmp_path / 'a.mp4'} --sheet {tmp_path / 'mine.toml'}\n"
    )


def test_every_line_of_a_started_sheet_can_be_filled_in(tmp_path: Path) -> None:
    from flybench.jobs.bench.sheet import sheet_text

    text = sheet_text({})
    left_out = (
        "# points",
        "# length",
        "# picture",
        "# diameter",
        "# Bench",
        "# A distance",
        "# +-",
        "# card",
        "# volume",
    )
    lines = [line if line.startswith(left_out) else line.removeprefix("# ") for line in text.splitlines()]
    text = "\n".join(lines).replace('# card = "in water"', 'card = "in water"')
    assert read_sheet(tomllib.loads(text)).scale.card


TEXT = f"{FLAGS['hand-held'].meaning} {FLAGS['hand-held'].cure}"


def test_flags_are_explained(capsys: Capture) -> None:
    said = flybench(capsys, "flags")
    assert said.code == 0
    assert all(f"  {name} ({flag.weight})\n" in said.out for name, flag in FLAGS.items())
    assert max(map(len, said.out.splitlines())) <= 80
    one = flybench(capsys, "flags", "hand-held")
    assert (one.code, one.out) == (
        0,
        f"  hand-held (note)\n{textwrap.indent(textwrap.fill(TEXT, 76), '    ')}\n",
    )
    machine = json.loads(flybench(capsys, "flags", "hand-held", "--json").out)
    assert machine == {
        "hand-held": {
            "weight": "note",
            "meaning": FLAGS["hand-held"].meaning,
            "cure": FLAGS["hand-held"].cure,
        }
    }
    assert set(json.loads(flybench(capsys, "flags", "--json").out)) > set(FLAGS)
    wrong = flybench(capsys, "flags", "two-flys")
    assert wrong.code == 1
    assert wrong.err == "Error: two-flys: is not a flag. Did you mean two-flies?\n"


@pytest.mark.slow
def test_demo_measures_what_was_rendered(tmp_path: Path) -> None:
    said: list[Step] = []
    place, flies = run_demo(tmp_path / "demo", said.append, lambda what, done, whole: None)
    assert len(flies) >= 3
    assert all(fly.holds for fly in flies)
    assert all(fly.result.verdict == "good" for fly in flies)
    assert (place / "moss-hackle-drawn.mp4").exists()
    assert (place / "scale-card-a4.pdf").exists()
    shelf = next(step for step in said if isinstance(step, ShelfSeen))
    untied = next(step for step in said if isinstance(step, list))
    assert (len(shelf.rungs), shelf.runs, shelf.known) == (24, 33, 21)
    assert shelf.inside >= 19  # nine of ten: k = 2 holds some 95 of 100
    assert shelf.ties > 0
    assert all(abs(one.predicted / one.truth - 1) < 0.15 for one in untied)
    assert all(one.interval[0] <= one.truth <= one.interval[1] for one in untied)
    assert sum(isinstance(step, RiverSeen) for step in said) == 3
    assert all(fly.report.stat().st_size > 50_000 for fly in flies)


def test_every_sheet_key_is_an_option_named_in_the_help(capsys: Capture) -> None:
    for verb in ("measure", "sheet"):
        told = flybench(capsys, "bench", verb, "--help").out
        for name in ARGUMENTS:
            assert f"--{name.replace('_', '-')} " in told, name
    told = flybench(capsys, "bench", "measure", "--help").out
    for name in ("--sheet", "--report", "--no-report", "--overlay", "--overwrite", "--json"):
        assert name in told


@pytest.mark.parametrize("where", [(), ("bench",), ("demo",)])
def test_help_of_groups_and_demo(where: tuple[str, ...], capsys: Capture) -> None:
    for flag in ("--help", "-h"):
        said = flybench(capsys, *where, flag)
        assert (said.code, said.err) == (0, "")
        assert said.out.startswith(" ".join(("Usage: flybench", *where)))


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["bench", "measure", "x.mp4", "--nonsense"], "No such option '--nonsense'."),
        (["bench", "weigh"], "No such command 'weigh'."),
        (["bench", "measure"], "Missing argument 'CLIP...'."),
        (["bench", "look", "x.mp4", "y.mp4"], "Got unexpected extra argument (y.mp4)"),
        (
            ["bench", "measure", "x.mp4", "--wall-index", "thick"],
            "Invalid value for '--wall-index': 'thick' is not a valid float.",
        ),
        (
            ["bench", "measure", "x.mp4", "--report", "a.gif"],
            "--report a.gif: needs a name that ends in .png or .pdf.",
        ),
    ],
)
def test_usage_errors_end_with_two(words: list[str], problem: str, capsys: Capture) -> None:
    said = flybench(capsys, *words)
    assert said.code == 2
    assert said.out == ""
    # click 8.2 changed the mark after the option's name
    told = said.err.splitlines()[-1].removeprefix("Error: ")
    assert told.replace("'", "").replace(": ", " ") == problem.replace("'", "").replace(": ", " ")


@pytest.mark.slow
def test_sheet_given_or_beside_are_the_same(clip: Path, capsys: Capture) -> None:
    beside = flybench(capsys, "bench", "measure", clip, "--no-report").out
    moved = clip.with_name("mine.toml")
    clip.with_suffix(".toml").rename(moved)
    assert flybench(capsys, "bench", "measure", clip, "--sheet", moved, "--no-report").out == beside


def test_sheet_takes_any_text_and_no_impossible_value(tmp_path: Path, capsys: Capture) -> None:
    code = 'moss "14" \\ red'
    assert flybench(capsys, "bench", "sheet", tmp_path / "a.mp4", "--fly", code).code == 0
    told = tomllib.loads((tmp_path / "a.toml").read_text(encoding="utf-8"))
    assert told["fly"]["code"] == code
    said = flybench(capsys, "bench", "sheet", tmp_path / "b.mp4", "--temperature", "99 degC")
    assert said.code == 1
    assert said.err == (
        "Error: --temperature: 99 degC is outside 0 to 40 degC. Give the temperature of the water in the tank, for "
        'example "18 degC".\n'
    )
    assert not (tmp_path / "b.toml").exists()
    points = flybench(
        capsys, "bench", "sheet", tmp_path / "c.mp4", "--points", "120,80 120,900", "--gap", "5 mm"
    )
    assert points.code == 0
    assert tomllib.loads((tmp_path / "c.toml").read_text(encoding="utf-8"))["scale"]["points"] == [
        [120.0, 80.0],
        [120.0, 900.0],
    ]


def test_demo_into_a_file_or_a_full_place(tmp_path: Path, capsys: Capture) -> None:
    place = tmp_path / "file"
    place.write_text("", encoding="utf-8")
    said = flybench(capsys, "demo", "--folder", place)
    assert (said.code, said.err) == (
        1,
        f"Error: {place}: cannot be made (File exists). Name another folder.\n",
    )
    folder = tmp_path / "demo"
    folder.mkdir()
    (folder / "catalog.sqlite").write_text("mine", encoding="utf-8")
    said = flybench(capsys, "demo", "--folder", folder)
    assert (said.code, said.err) == (
        1,
        f"Error: {folder}: is not empty, and the demo replaces nothing. Name a new folder, or leave --folder out.\n",
    )
    assert (folder / "catalog.sqlite").read_text(encoding="utf-8") == "mine"
