"""The overlay clip: the user's frames and times kept, upright, and the marks where the fly is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest
from kinds_of_run import SHOWN, kind_of, refused, told_speed
from measured_clips import measured

from flybench.bench.clip.footage import Clip, open_clip
from flybench.bench.measure import Measurement
from flybench.bench.overlay import pen
from flybench.bench.overlay.draw import layout_of, told_of, verdict_text, write_overlay
from flybench.jobs.demo import shipped_clips

CLIP = shipped_clips() / f"{SHOWN}.mp4"


@pytest.fixture(scope="module")
def clip() -> Clip:
    return open_clip(CLIP)


@pytest.fixture(scope="module")
def run() -> Measurement:
    return measured(SHOWN)[0]


@pytest.fixture(scope="module")
def overlay(clip: Clip, run: Measurement, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an overlay in which the first drop is not used."""
    path = tmp_path_factory.mktemp("overlay") / "drawn.mp4"
    drops = run.result.drops
    first = replace(drops[0], flags=["not-terminal"])
    write_overlay(clip, replace(run, result=replace(run.result, drops=[first, *drops[1:]])), path)
    return path


@pytest.mark.slow
def test_overlay_keeps_frames_and_times(clip: Clip, overlay: Path) -> None:
    drawn = open_clip(overlay)
    assert drawn.survey.times == pytest.approx(clip.survey.times, abs=1e-9)
    with av.open(str(CLIP)) as before, av.open(str(overlay)) as after:
        assert after.duration == pytest.approx(before.duration, abs=1_000)
        stream = after.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt) == ("h264", "yuv420p")


@pytest.mark.slow
def test_overlay_is_upright_and_unchanged_where_nothing_is_drawn(
    clip: Clip, run: Measurement, overlay: Path
) -> None:
    drawn = open_clip(overlay)
    assert (drawn.orientation.quarter_turns, drawn.orientation.width) == (0, 540)
    assert drawn.orientation.height % 2 == 0 and clip.orientation.quarter_turns
    frame = next(drawn.frames())
    rows = slice(60, 700)
    before, after = run.view.reference[rows, 20:520], frame.luma[rows, 20:520]
    assert np.corrcoef(before.ravel(), after.ravel())[0, 1] > 0.99


@pytest.mark.slow
@pytest.mark.parametrize(("number", "channel"), [(0, 0), (1, 1)])
def test_marker_sits_at_the_spot(run: Measurement, overlay: Path, number: int, channel: int) -> None:
    rows = run.result.drops[number].drop.rows
    spot = run.spots[rows[len(rows) // 2]]
    with av.open(str(overlay)) as container:
        decoded = enumerate(container.decode(video=0))
        picture = next(frame.to_ndarray(format="rgb24") for index, frame in decoded if index == spot.frame)
    colours = picture[:960].astype(int)
    others = [other for other in range(3) if other != channel]
    ring = (colours[..., channel] - colours[..., others].max(axis=-1)) > 50
    ys, xs = np.nonzero(ring & (np.abs(np.arange(960) - spot.y) < 40)[:, None])
    middle = (xs.min() + xs.max()) / 2, (ys.max() + ys.min()) / 2
    assert middle[0] == pytest.approx(spot.x, abs=1.5)
    assert ys.max() - spot.y == pytest.approx((xs.max() - xs.min()) / 2, abs=2.0)


@pytest.mark.parametrize("size", [(540, 960), (1080, 1920), (3840, 2160), (172, 1716), (333, 555)])
def test_overlay_layout(size: tuple[int, int]) -> None:
    layout = layout_of(*size)
    assert layout.size[0] % 2 == 0 and layout.size[1] % 2 == 0
    assert max(layout.size) <= 1280 and layout.picture[1] < layout.size[1]
    assert layout.picture[0] / layout.picture[1] == pytest.approx(size[0] / size[1], rel=0.02)
    corner = layout.place(np.array([[size[0] - 1.0, size[1] - 1.0]]))[0]
    assert corner == pytest.approx([layout.left + layout.picture[0] - 1, layout.picture[1] - 1], abs=1.0)


@pytest.mark.slow
def test_overlay_words(run: Measurement) -> None:
    drop = run.result.drops[1]
    assert verdict_text(run.result) == f"GOOD: {told_speed(run)} in the tank, k = 2"
    assert verdict_text(kind_of(run, "refused").result) == "REFUSED: no sink speed"
    assert drop.fit
    reached = f"{100 * drop.fit.terminal_speed:.1f}"
    assert told_of(1, drop, len(drop.drop.rows) - 1)[0].endswith(f" {reached} of {reached} cm/s")
    assert told_of(1, refused(drop), 3)[1].startswith("not used: not-terminal, tilted-path")


@pytest.mark.parametrize("ground", [0, 255])
@pytest.mark.parametrize("whole", [True, False])
def test_trails_show_on_dark_and_bright_ground(ground: int, whole: bool) -> None:
    """Of the darkest and the brightest grey in a trail, one is far from the ground: 100 levels of 255."""
    canvas = np.full((120, 60, 3), ground, np.uint8)
    pen.trail(
        canvas, np.column_stack([np.full(30, 30.0), np.linspace(10, 110, 30)]), (80, 220, 80), whole=whole
    )
    drawn = canvas[20:100, 20:40].mean(axis=2)
    assert abs(drawn - ground).max() > 100
    assert drawn.min() < 60 and drawn.max() > 120


def test_plus_minus_is_a_plus_over_a_bar() -> None:
    canvas = np.zeros((60, 60, 3), np.uint8)
    pen.write(canvas, "±", (10, 50), 1.5, (255, 255, 255))
    ink = canvas[..., 0] > 100
    wide = ink.sum(axis=1)
    rows = np.flatnonzero(wide)
    strokes = [row for row in rows if wide[row] > 0.8 * wide.max()]
    assert 45 <= rows.max() <= 52
    assert max(strokes) - min(strokes) > 8 and any(
        wide[row] == 0 for row in range(min(strokes), max(strokes))
    )
    assert pen.width_of("1 ± 2", 1.0) == pen.width_of("1 + 2", 1.0)


@pytest.mark.parametrize("x", [8, -290])
def test_the_bar_is_as_long_as_it_says(x: int) -> None:
    canvas = np.full((80, 300, 3), 128, np.uint8)
    pen.scale_bar(canvas, (x, 72), 150.0, "50 mm", 24)
    row = canvas[64, :, 0]
    bar = np.flatnonzero(row == 255)
    assert bar[-1] - bar[0] == 150
    plate = np.flatnonzero(row < 60)
    assert plate[0] == 8 if x > 0 else plate[-1] == 290


@pytest.mark.slow
def test_progress_and_a_failing_disk(clip: Clip, run: Measurement, tmp_path: Path) -> None:
    with pytest.raises(OSError):
        write_overlay(clip, run, tmp_path / "no folder" / "drawn.mp4")

    def stop(done: int, whole: int) -> None:
        assert (done, whole) == (1, 535)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_overlay(clip, run, tmp_path / "drawn.mp4", stop)
