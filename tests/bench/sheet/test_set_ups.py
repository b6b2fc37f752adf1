"""Set-ups by name: what of a sheet is kept, what goes before what, and what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from console import flybench
from refusals import refused

from flybench.cli.bench import questions
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.bench.set_ups import over_set_up, read_set_up, save_set_up

GIVEN: dict[str, dict[str, Any]] = {
    "water": {"temperature": "18 degC"},
    "tank": {"width": "200 mm", "depth": "140 mm"},
    "camera": {"distance": "620 mm", "capture_rate": "240 Hz"},
    "scale": {"card": "in water", "bar": "99.6 mm", "gap": "12 mm"},
    "fly": {"code": "reed-14"},
}


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FLYBENCH_SET_UPS", str(tmp_path / "set-ups"))


def test_what_belongs_to_the_place_is_kept() -> None:
    save_set_up("kitchen", GIVEN)
    assert read_set_up("kitchen") == {
        "tank": {"width": "200 mm", "depth": "140 mm"},
        "camera": {"distance": "620 mm"},
        "scale": {"card": "in water", "bar": "99.6 mm", "gap": "12 mm"},
    }


def test_the_sheet_goes_before_the_set_up() -> None:
    save_set_up("kitchen", GIVEN)
    merged = over_set_up("kitchen", {"water": {"temperature": "15 degC"}, "scale": {"gap": "20 mm"}})
    assert merged["scale"] == {"card": "in water", "bar": "99.6 mm", "gap": "20 mm"}
    assert merged["water"] == {"temperature": "15 degC"}
    points = {"points": [[1, 2], [3, 400]], "length": "200 mm"}
    assert over_set_up("kitchen", {"scale": points})["scale"] == {"gap": "12 mm"} | points
    assert over_set_up("kitchen", {"tank": {"diameter": "190 mm"}})["tank"] == {"diameter": "190 mm"}
    assert over_set_up(None, GIVEN) == GIVEN


def test_names_that_are_taken_unknown_or_none() -> None:
    path = save_set_up("kitchen", GIVEN)
    with pytest.raises(FlybenchError) as taken:
        save_set_up("kitchen", GIVEN)
    assert str(taken.value) == f"{path}: exists already. Name another file, or add --overwrite to replace it."
    with pytest.raises(FlybenchError) as unknown:
        read_set_up("kitchn")
    assert str(unknown.value) == (
        "--set-up kitchn: there is no set-up of that name. There are: kitchen. Keep one with: flybench bench sheet --save "
        "kitchn"
    )
    for name in ("", "../kitchen", "Kitchen", "a" * 41):
        with pytest.raises(BadValueError) as none:
            save_set_up(name, GIVEN)
        assert str(none.value) == (
            f'--save: "{name}" cannot be the name of a set-up. Use small letters, digits and hyphens, 40 at most, for '
            "example kitchen."
        )


def test_values_are_checked_before_they_are_kept() -> None:
    with pytest.raises(BadValueError) as wrong:
        save_set_up("kitchen", {"tank": {"width": "6 m"}})
    assert str(wrong.value).startswith("tank.width: 6 m is outside 0.02 to 5 m.")
    with pytest.raises(FlybenchError) as nothing:
        save_set_up("kitchen", {"water": {"temperature": "18 degC"}})
    assert str(nothing.value) == (
        "--save kitchen: there is nothing to keep. Give what stays the same there, such as --card --tank-width "
        '"200 mm".'
    )


def test_the_command_keeps_and_fills_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "sheet", "--save", "kitchen", "--card", "--tank-width", "200 mm")
    assert (said.code, said.out) == (0, "To use it:\n  flybench bench measure CLIP --set-up kitchen\n")
    clip = tmp_path / "drop.mp4"
    said = flybench(capsys, "bench", "sheet", clip, "--set-up", "kitchen", "--temperature", "17 degC")
    assert said.code == 0
    text = clip.with_suffix(".toml").read_text(encoding="utf-8")
    assert 'width = "200 mm"' in text
    assert 'temperature = "17 degC"' in text
    refused(
        flybench(capsys, "bench", "sheet", tmp_path / "other.mp4", "--set-up", "cellar"),
        "--set-up cellar: there is no set-up of that name. There are: kitchen. Keep one with: flybench bench sheet --save "
        "cellar",
    )


def test_questions_are_asked_again_until_the_answer_can_be(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    replies = iter(
        ["18", "18 degC +- 1 degC", "200 mm +- 1 mm", "200 mm", "", "", "", "", "99.6 mm", "-12 mm"]
    )
    monkeypatch.setattr(questions.click, "confirm", lambda *_, **__: True)
    monkeypatch.setattr(questions.click, "prompt", lambda *_, **__: next(replies))
    assert questions.answers(place_only=False) == {
        "water": {"temperature": "18 degC +- 1 degC"},
        "tank": {"width": "200 mm"},
        "scale": {"card": "in water", "bar": "99.6 mm", "gap": "-12 mm"},
    }
    told = capsys.readouterr().out
    assert 'water.temperature: "18" has no unit.' in told
    assert 'tank.width: "200 mm +- 1 mm" has an uncertainty, and none is used here.' in told


def test_what_is_not_kept_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "sheet", "--save", "kitchen", "--card", "--capture-rate", "240 Hz")
    assert (said.code, said.out) == (
        0,
        "Not kept: --capture-rate. What belongs to a single clip is given with that clip.\nTo use it:\n"
        "  flybench bench measure CLIP --set-up kitchen\n",
    )
    assert read_set_up("kitchen") == {"scale": {"card": "in water"}}
