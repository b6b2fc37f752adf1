"""`flybench run` and what `bench measure --fly` saves. Flies and codes are invented."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from console import flybench
from measured_clips import count, measured, worsened

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.cli import root
from flybench.jobs.bench import measure as measuring
from flybench.jobs.bench.measure import Wanted
from flybench.jobs.demo import shipped_clips
from flybench.jobs.shelf import runs
from flybench.jobs.shelf.refit import refit_runs

Capture = pytest.CaptureFixture[str]
pytestmark = pytest.mark.usefixtures("clips_read_once")


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    """Return a demo clip whose sheet has neither weights nor a bead."""
    path = tmp_path / "moss-hackle.mp4"
    shutil.copyfile(shipped_clips() / path.name, path)
    sheet = (shipped_clips() / "moss-hackle.toml").read_text(encoding="utf-8")
    path.with_suffix(".toml").write_text(sheet.split("[fly]")[0], encoding="utf-8")
    return path


@pytest.mark.slow
def test_measure_saves_and_takes_the_weight_from_the_catalog(
    catalog: Catalog, clip: Path, capsys: Capture
) -> None:
    arguments = ["--no-report", "--fly", "a-1", "--catalog", catalog.name, "--json"]
    said = flybench(capsys, "bench", "measure", clip, *arguments)
    assert said.code == 0, said.err
    told = json.loads(said.out)
    # Weight by the standard acceleration of free fall, 9.80665 m/s2 (3rd CGPM, 1901); k = 1 is 1 mg of 148 mg.
    assert told["drag"]["submerged_weight_n"] == pytest.approx(0.148e-3 * 9.80665, rel=1e-9)
    assert told["drag"]["submerged_weight_uncertainty_n"] == pytest.approx(1e-6 * 9.80665, rel=1e-9)
    assert told["drag"]["reference_area_m2"] == pytest.approx(math.pi / 4 * 0.0031**2, rel=1e-9)
    assert said.err == f"Saved as run 1 of fly A-1 in {catalog.name}\n"
    with catalog.reading() as session:
        run = session.get_one(BenchRun, 1)
        assert run.sheet["fly"] == {"code": "a-1"}
        assert run.result["sink_speed_m_s"] == told["sink_speed_m_s"]
    assert refit_runs(catalog)[0].new == refit_runs(catalog)[0].old
    again = flybench(capsys, "bench", "measure", clip, *arguments)
    assert (again.code, again.out) == (1, "")
    assert again.err == (
        "Error: fly A-1: this clip was measured already, as run 1 (moss-hackle.mp4); counted twice, its speed would "
        "look more certain than it is. To measure it again, first remove that run with: flybench run remove 1\n"
    )


def test_weights_in_the_sheet_go_first() -> None:
    weighing = {"mass": "0.2 g", "mass_in_water": "0.15 g", "bead": "3 mm"}
    assert runs.with_weighing({"fly": {"mass": "0.3 g"}}, weighing)["fly"] == {
        "mass": "0.3 g",
        "bead": "3 mm",
    }
    assert runs.with_weighing({"fly": {"bead": "2 mm"}}, weighing)["fly"] == weighing | {"bead": "2 mm"}
    assert runs.with_weighing({"water": {}}, {}) == {"water": {}}


def test_an_unknown_fly_is_refused_before_the_clip_is_read(
    catalog: Catalog, clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flybench.jobs.bench.measure.open_clip", lambda path: pytest.fail("read the clip"))
    said = flybench(capsys, "bench", "measure", clip, "--fly", "A-7", "--catalog", catalog.name)
    assert (said.code, said.out) == (1, "")
    assert said.err == (
        'Error: fly: there is no "A-7". Did you mean A-2? If it is a new one, add it with: '
        "flybench fly add A-7 --variant CODE.\n"
    )
    assert not clip.with_suffix(".bench.png").exists()


@pytest.mark.slow
def test_a_code_in_the_sheet_alone_opens_no_catalog(
    catalog: Catalog, clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("FLYBENCH_CATALOG", raising=False)
    monkeypatch.setattr("flybench.jobs.bench.measure.measure_clip", lambda *_: measured("reed-slip")[0])
    with monkeypatch.context() as closed:
        closed.setattr("flybench.cli.options.catalog.opened", lambda address: pytest.fail("opened a catalog"))
        with clip.with_suffix(".toml").open("a", encoding="utf-8") as handle:
            handle.write('[fly]\ncode = "A-1"\n')
        assert flybench(capsys, "bench", "measure", clip, "--no-report").code == 0
    monkeypatch.setenv("FLYBENCH_CATALOG", catalog.name)
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    assert said.out.endswith(f"Saved as run 1 of fly A-1 in {catalog.name}\n")


def test_a_catalog_without_a_fly_is_asked_about(catalog: Catalog, clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--catalog", catalog.name)
    assert said.code == 2
    assert said.err.splitlines()[-1] == (
        "Error: --catalog needs a fly. Give --fly CODE, or write fly.code in the sheet."
    )


def run_command(catalog: Catalog, *arguments: str) -> Result:
    return CliRunner().invoke(root, ["run", *arguments, "--catalog", catalog.name])


@pytest.mark.slow
def test_the_run_commands(catalog: Catalog) -> None:
    runs.save_run(catalog, "A-1", *measured("reed-slip"))
    assert run_command(catalog, "set-aside", "1", "--why", "bumped").stdout == "Set aside run 1.\n"
    told = json.loads(run_command(catalog, "accept", "1", "--json").stdout)
    assert (told["number"], told["accepted"], told["fly"]) == (1, True, "A-1")
    told = json.loads(run_command(catalog, "refit", "--all", "--json").stdout)
    assert told[0]["old"] == told[0]["new"] and told[0]["flags_gained"] == []
    worsened(catalog, 1)
    shown = run_command(catalog, "refit", "1")
    assert "flag gone: tumbling" in shown.stdout and "->" in shown.stdout
    assert shown.stderr == ("1 run fitted again; nothing was changed. Add --write to keep the new results.\n")
    asked = run_command(catalog, "refit", "1", "--write")  # nobody answers
    assert asked.exit_code == 1
    assert "Keep the new results in the catalog? [y/N]" in asked.stderr
    assert "->" in run_command(catalog, "refit", "1").stdout
    kept = run_command(catalog, "refit", "1", "--write", "--yes")
    assert kept.stderr == "1 run fitted again; the new results are in the catalog.\n"
    assert "unchanged" in run_command(catalog, "refit", "1").stdout
    for wrong in ([], ["1", "--all"]):
        assert run_command(catalog, "refit", *wrong).stderr.endswith(
            "Error: Name runs by number, or give --all.\n"
        )
    unasked = run_command(catalog, "refit", "1", "--yes")
    assert unasked.stderr.endswith("Error: --yes goes with --write: without it nothing is written.\n")
    assert run_command(catalog, "remove", "1").exit_code == 1  # nobody answers
    assert count(catalog, BenchRun) == 1
    assert run_command(catalog, "remove", "1", "--yes").stdout == "Removed run 1.\n"
    assert count(catalog, BenchRun) == 0


def test_the_page_has_the_patterns_name_and_the_sheets_own_goes_before(catalog: Catalog, clip: Path) -> None:
    """The catalog of these tests calls the pattern "invented"; the code is then told in small letters."""
    known = runs.prepare(catalog, "a-1", clip)
    assert known["name"] == "invented"
    assert runs.with_weighing({"fly": {"code": "a-1"}}, known)["fly"]["name"] == "invented"
    assert runs.with_weighing({"fly": {"name": "Reed slip"}}, known)["fly"]["name"] == "Reed slip"


def test_close_ups_are_kept_only_where_a_page_is_wanted(clip: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    monkeypatch.setattr(measuring, "measure", lambda *given: asked.append(given[-1]))
    monkeypatch.setattr(measuring, "_write_report", lambda run, paths: None)
    settings = measuring.settings_for(clip, None, {})
    for wanted in (None, Wanted(), Wanted([clip.with_suffix(".png")]), Wanted(close_ups=True)):
        measuring.measure_clip(clip, settings, wanted)
    assert asked == [False, False, True, True]
