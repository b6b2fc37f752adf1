"""The report page and the overlay clip: every kind of run, nothing off the page, the marks where the fly is."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import av
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from pypdfium2 import PdfDocument

from flybench.bench.clip.footage import Clip, open_clip
from flybench.bench.measure import Measurement, measure
from flybench.bench.overlay.draw import layout_of, told_of, verdict_text, write_overlay
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import MeasuredDrop
from flybench.charts.lettering import drawable, shortened, width_of, wrapped
from flybench.paper.report import report_page, save_report
from flybench.quantity import speed_text

CLIP = Path(__file__).resolve().parents[2] / "bench_videos" / "clips" / "moss-hackle.mp4"
KINDS = ("good", "single", "eight", "mixed", "refused", "unfitted", "nothing", "flagged")


@pytest.fixture(scope="module")
def clip() -> Clip:
    return open_clip(CLIP)


@pytest.fixture(scope="module")
def run(clip: Clip) -> Measurement:
    return measure(clip, read_sheet(tomllib.loads(CLIP.with_suffix(".toml").read_text(encoding="utf-8"))))


def refused(drop: MeasuredDrop, flag: str = "not-terminal") -> MeasuredDrop:
    return replace(drop, flags=[flag, "tilted-path", "odd-drop", "tumbling", "near-wall", "spiralling-path"])


def kind_of(run: Measurement, kind: str) -> Measurement:
    """Return the run made over into another kind of run."""
    drops, result = run.result.drops, run.result
    unpooled = replace(result, sink_speed=None, budget=[], free_water=None, drag=None)
    changed = {
        "good": result,
        "single": replace(result, drops=drops[:1], flags=["single-drop", "distance-guessed"]),
        "eight": replace(result, drops=(drops * 3)[:8]),
        "mixed": replace(result, drops=[refused(drops[0]), *drops[1:], *map(refused, drops), *drops]),
        "refused": replace(unpooled, drops=[refused(drop) for drop in drops]),
        "unfitted": replace(
            unpooled, drops=[replace(refused(drop, "too-few-frames"), fit=None) for drop in drops]
        ),
        "nothing": replace(unpooled, drops=[], left_out={"rose (a bubble?)": 27, "hardly moved": 20}),
        "flagged": replace(
            result,
            flags=list(FLAGS),
            clip=replace(result.clip, name="$\\frac{1}$ 釣り\n" + "long name of a clip " * 12 + ".mp4"),
        ),
    }
    return replace(run, result=changed[kind])


def told_speed(run: Measurement) -> str:
    speed, uncertainty = run.result.sink_speed, run.result.standard_uncertainty
    return "No sink speed" if speed is None else speed_text(speed, 2 * uncertainty).split(" (")[0]


def words(figure: Figure) -> Iterator[tuple[str, np.ndarray]]:
    """Yield every text drawn on a page with the corners of its box [px]."""
    from matplotlib.text import Text

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    hidden = {id(label) for axes in figure.axes for label in _unseen_ticks(axes)}
    for text in figure.findobj(Text):
        if text.get_visible() and text.get_text().strip() and id(text) not in hidden:
            yield text.get_text(), text.get_window_extent(canvas.get_renderer()).get_points()


def _unseen_ticks(axes) -> Iterator[object]:
    """Yield labels of ticks that lie outside their axis and so are not drawn."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in axis.get_major_ticks():
            if not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


@pytest.mark.parametrize("kind", KINDS)
def test_no_words_leave_the_page_or_touch(run: Measurement, kind: str) -> None:
    changed = kind_of(run, kind)
    figure = report_page(changed, "Sink speed of a fly with a rather long name, tied by hand " * 3)
    page = figure.bbox.get_points()
    boxes = list(words(figure))
    assert len(boxes) > 5
    assert (changed.result.verdict.upper() == "REFUSED") == ("No sink speed" in dict(boxes))
    for text, (low, high) in boxes:
        assert (low >= page[0] + 20).all() and (high <= page[1] - 20).all(), text
    for (text, (low, high)), (other, (low_2, high_2)) in combinations(boxes, 2):
        shared = np.minimum(high, high_2) - np.maximum(low, low_2)
        assert not (shared > 1.0).all(), (text, other)


@pytest.mark.parametrize("kind", KINDS)
def test_page_says_what_matters(run: Measurement, kind: str) -> None:
    changed = kind_of(run, kind)
    told = [text for text, _ in words(report_page(changed))]
    joined = " ".join(told)
    assert told_speed(changed) in told
    assert changed.result.verdict.upper() in told
    assert changed.result.clip.sha256[:12] in joined and "coverage factor k = 2" in joined
    if len(changed.result.all_flags) < 5:
        assert set(changed.result.all_flags) <= set(told)


def test_files_are_a4(run: Measurement, tmp_path: Path) -> None:
    png, pdf = tmp_path / "page.png", tmp_path / "page.pdf"
    save_report(run, png, pdf, title="Moss hackle")
    with Image.open(png) as picture:
        assert picture.size == (1240, 1753)
        assert picture.info["dpi"] == pytest.approx((150, 150), abs=0.1)
        assert np.ptp(np.asarray(picture.convert("L"))) == 255
    document = PdfDocument(pdf)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((595.276, 841.890), abs=0.01)
    assert document.get_metadata_dict()["Title"] == "Moss hackle: moss-hackle.mp4"
    assert told_speed(run) in document[0].get_textpage().get_text_range()


def test_pages_are_the_same_each_time(run: Measurement, tmp_path: Path) -> None:
    for name in ("a", "b"):
        save_report(run, tmp_path / f"{name}.png", tmp_path / f"{name}.pdf")
    for ending in (".png", ".pdf"):
        assert (tmp_path / f"a{ending}").read_bytes() == (tmp_path / f"b{ending}").read_bytes()


def test_words_are_fitted() -> None:
    assert wrapped("one two three", width_of("one two", 8) + 0.1, 8) == ["one two", "three"]
    assert width_of(shortened("x" * 300 + ".mp4", 100, 8), 8) <= 100
    assert shortened("short.mp4", 100, 8) == "short.mp4"
    assert drawable("fly\n釣.mp4 $x$ ±") == "fly□□.mp4 $x$ ±"


@pytest.fixture(scope="module")
def overlay(clip: Clip, run: Measurement, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an overlay in which the first drop is not used."""
    path = tmp_path_factory.mktemp("overlay") / "drawn.mp4"
    drops = run.result.drops
    first = replace(drops[0], flags=["not-terminal"])
    write_overlay(clip, replace(run, result=replace(run.result, drops=[first, *drops[1:]])), path)
    return path


def test_overlay_keeps_frames_and_times(clip: Clip, overlay: Path) -> None:
    drawn = open_clip(overlay)
    assert drawn.survey.times == pytest.approx(clip.survey.times, abs=1e-9)
    with av.open(str(CLIP)) as before, av.open(str(overlay)) as after:
        assert after.duration == pytest.approx(before.duration, abs=1_000)
        stream = after.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt) == ("h264", "yuv420p")


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


def test_overlay_words(run: Measurement) -> None:
    drop = run.result.drops[1]
    assert verdict_text(run.result) == f"GOOD: {told_speed(run).replace('±', '+-')} in the tank, k = 2"
    assert verdict_text(kind_of(run, "refused").result) == "REFUSED: no sink speed"
    assert drop.fit
    reached = f"{100 * drop.fit.terminal_speed:.1f}"
    assert told_of(1, drop, len(drop.drop.rows) - 1)[0].endswith(f" {reached} of {reached} cm/s")
    assert told_of(1, refused(drop), 3)[1].startswith("not used: not-terminal, tilted-path")


def test_progress_and_a_failing_disk(clip: Clip, run: Measurement, tmp_path: Path) -> None:
    with pytest.raises(OSError):
        write_overlay(clip, run, tmp_path / "no folder" / "drawn.mp4")

    def stop(done: int, whole: int) -> None:
        assert (done, whole) == (1, 535)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_overlay(clip, run, tmp_path / "drawn.mp4", stop)
