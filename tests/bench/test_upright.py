"""Which way is up: pictures on their head or side, cards upside down, and turns that were baked in.

Truth: clips rendered by ``tankview`` and written again with the picture turned, as a wrong turn tag or a phone lying
flat leaves it.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from clips import pairs, rendered
from rewritten import turned
from scenes import falls, scene
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.truth import Truth

from flybench.bench.clip.footage import open_clip
from flybench.bench.clip.orientation import Orientation
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.track.drop import Drop
from flybench.bench.verdict.result import BenchResult
from flybench.bench.verdict.upright import against_the_card, rising_alike

LIFTED = scene(**falls(0.30, spacing=2.6, bottom_y=0.235, rest=0.4, lift_speed=0.7, release_y=0.02))
"""Two falls, each seen from where the fly is let go; it is lifted out again at 70 cm/s."""


def told(one: Scene, turns: int, folder: Path, work: Path) -> tuple[BenchResult, Truth]:
    """Return the result for a scene's clip written again, turned by quarter turns to the left, without a tag."""
    clip, truth = rendered(one, folder)
    turned(clip, work / "clip.mp4", turns)
    tables: dict[str, Any] = tomllib.loads(sheet_text(one))
    if one.card is None and turns == 2:
        right, low = one.camera.width - 1, one.camera.height - 1
        tables["scale"]["points"] = [[right - x, low - y] for x, y in tables["scale"]["points"]]
    return measure(open_clip(work / "clip.mp4"), read_sheet(tables)).result, truth


@pytest.mark.parametrize(
    ("orientation", "baked", "along"),
    [
        (Orientation(1920, 1080), True, False),
        (Orientation(1080, 1920), False, True),
        (Orientation(1080, 1920, 1), False, False),
        (Orientation(1080, 1920, 3), False, False),
        (Orientation(1080, 1920, 2), False, True),
        (Orientation(1080, 1080), False, True),
    ],
)
def test_only_a_picture_stored_taller_than_wide_has_its_turn_baked_in(
    orientation: Orientation, baked: bool, along: bool
) -> None:
    assert (orientation.turn_is_baked_in, orientation.rows_run_along_fall) == (baked, along)


def seen(speed: float, contrast: float) -> Drop:
    """Return a thing of 8 mm that goes down 25 cm at a steady speed [m/s], of some contrast [grey levels]."""
    times = np.arange(0.0, 0.25 / speed, 1 / 60)
    places = np.column_stack([np.zeros_like(times), speed * times])
    rows, leans = np.arange(len(times)), np.zeros_like(times)
    return Drop(rows, times, places, contrast, 200.0, 0.008, 0.004, leans, landed=True)


def test_a_fast_lift_is_as_many_times_fainter_and_still_the_same_fly() -> None:
    """A picture smears what moves: at 2.6 times the speed a fly may show 2.6 times as faintly, and not at the same speed."""
    lifts, falls_of_it, other = [seen(0.74, -40.0)] * 3, seen(0.28, -118.0), seen(0.74, -118.0)
    assert rising_alike(lifts, [falls_of_it, other]) == [falls_of_it]
    assert against_the_card(lifts, [falls_of_it], 1e-4)
    assert not against_the_card(lifts, [other], 1e-4)
    assert not against_the_card([falls_of_it] * 3, [lifts[0]], 1e-4)


@pytest.mark.slow
def test_a_lift_in_a_picture_on_its_head_is_no_fall(folder: Path, tmp_path: Path) -> None:
    result, _ = told(LIFTED, 2, folder, tmp_path)
    assert result.sink_speed is None
    assert [drop.flags[-1] for drop in result.drops] == ["against-the-card"] * 2


@pytest.mark.slow
def test_a_picture_on_its_head_shows_without_a_card_too(folder: Path, tmp_path: Path) -> None:
    bare = LIFTED.but(card=None)
    result, _ = told(bare, 2, folder, tmp_path)
    assert result.sink_speed is None
    assert [drop.flags[-1] for drop in result.drops] == ["picture-on-its-head"] * 2
    upright, truth = told(bare, 0, folder, tmp_path)
    assert len(pairs(upright, truth)) == 2
    assert max(abs(pair.error) for pair in pairs(upright, truth)) < 0.003


@pytest.mark.slow
@pytest.mark.parametrize("turns", [1, 3])
def test_a_picture_on_its_side_is_read_by_the_card(turns: int, folder: Path, tmp_path: Path) -> None:
    result, truth = told(LIFTED, turns, folder, tmp_path)
    assert "picture-on-its-side" in result.flags
    found = pairs(result, truth)
    assert len(found) == 2
    assert all(abs(pair.error) < 0.003 and pair.holds for pair in found)


@pytest.mark.slow
def test_a_baked_in_turn_is_a_note_and_the_typed_readout_is_not_applied(folder: Path, tmp_path: Path) -> None:
    """An upright phone reads across the fall: its speed needs no correction, whatever its readout is."""
    result, truth = told(scene(camera__readout=0.015), 0, folder, tmp_path)
    assert "turn-not-told" in result.flags
    assert "rolling-shutter" not in result.flags
    assert "rolling shutter" not in [line.source for line in result.budget]
    found = pairs(result, truth)
    assert len(found) == 2
    assert all(abs(pair.error) < 0.003 and pair.holds for pair in found)
