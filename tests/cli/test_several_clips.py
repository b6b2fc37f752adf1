"""``bench measure A.mp4 B.mp4``: each as if it were the only one, a failure of one told, one table at the end."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from console import flybench
from refusals import refused, video

Capture = pytest.CaptureFixture[str]
AGAIN = "Try 'flybench bench measure --help' for help."


def a_still_clip(path: Path) -> Path:
    """Write a clip in which nothing moves, with a sheet."""
    video(path, [np.full((240, 160), 128, np.uint8)] * 30)
    path.with_suffix(".toml").write_text(
        '[water]\ntemperature = "18 degC"\n[scale]\npoints = [[20, 20], [20, 220]]\nlength = "250 mm"\n'
    )
    return path


@pytest.mark.slow
def test_one_table_and_the_others_go_on(clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(clip.parent)
    still = a_still_clip(Path("still.mp4"))
    shutil.copyfile(clip, "bare.mp4")
    names = [clip.name, "missing.mp4", still.name, "bare.mp4"]
    said = flybench(capsys, "bench", "measure", *names)
    assert said.code == 1
    head, first, *rest = said.out.splitlines()
    assert head == "clip         verdict       cm/s  ± (k = 2)  drops  first flag"
    assert first.split()[:3] == ["drop.mp4", "usable", "30.0"]
    assert first.split()[-2:] == ["1", "single-drop"]
    assert rest == [
        "missing.mp4  not measured     -          -      -  -",
        "still.mp4    refused          -          -      0  no drop",
        "bare.mp4     not measured     -          -      -  -",
        "",
        "1 of 4 clips gave a sink speed, each in its tank as it was.",
    ]
    assert said.err.splitlines() == [
        "Wrote drop.bench.png",
        "Error: missing.mp4: no such file. Check the name and the folder.",
        "Wrote still.bench.png",
        "Error: bare.mp4: there is no sheet beside it (bare.toml) and no options were given. "
        "Write one with: flybench bench sheet bare.mp4",
    ]
    assert {path.name for path in Path().glob("*.png")} == {"drop.bench.png", "still.bench.png"}


@pytest.mark.slow
def test_machine_form_of_several(clip: Path, capsys: Capture) -> None:
    missing = clip.with_name("missing.mp4")
    said = flybench(capsys, "bench", "measure", clip, missing, "--json", "--no-report")
    assert said.code == 1
    first, second = json.loads(said.out)
    alone = flybench(capsys, "bench", "measure", clip, "--json", "--no-report")
    assert first == json.loads(alone.out)
    assert second == {
        "clip": {"name": str(missing)},
        "error": f"{missing}: no such file. Check the name and the folder.",
    }
    assert flybench(capsys, "bench", "measure", clip, "--json", "--no-report").code == 0


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--overlay", "drawn.mp4"],
            "--overlay is for one clip, and 2 were given. Leave it out, or measure that clip by itself. Each clip has its "
            "own sheet beside it.",
        ),
        (
            ["--sheet", "a.toml", "--report", "a.pdf", "--without", "1", "hit the wall"],
            "--sheet, --report and --without are for one clip, and 2 were given. Leave them out, or measure that clip by "
            "itself. Each clip has its own sheet beside it.",
        ),
    ],
)
def test_options_that_belong_to_one_clip(options: list[str], message: str, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", "a.mp4", "b.mp4", *options)
    assert (said.code, said.out) == (2, "")
    assert said.err == f"Usage: flybench bench measure [OPTIONS] CLIP...\n{AGAIN}\n\nError: {message}\n"


def test_a_clip_named_twice(tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    said = flybench(capsys, "bench", "measure", "a.mp4", "./a.mp4")
    assert said.code == 2
    assert said.err.endswith("Error: a.mp4: is named twice. Name each clip once.\n")


def test_clips_that_would_share_a_page(capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", "drop.mp4", "drop.mov")
    refused(
        said,
        "drop.mp4 and drop.mov: would share the page drop.bench.png and the sheet. Rename one of them, or measure them "
        "one by one.",
    )


@pytest.mark.slow
def test_an_option_that_is_wrong_is_told_for_each(clip: Path, capsys: Capture) -> None:
    other = clip.with_name("other.mp4")
    shutil.copyfile(clip, other)
    said = flybench(capsys, "bench", "measure", clip, other, "--no-report", "--temperature", "18 kg")
    assert said.code == 1
    first, second = said.err.splitlines()
    assert first.removeprefix(f"Error: {clip}: --temperature: ") == second.removeprefix(
        f"Error: {other}: --temperature: "
    )
    assert said.out.splitlines()[-1] == "0 of 2 clips gave a sink speed, each in its tank as it was."
