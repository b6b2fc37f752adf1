"""The side view of a drift: nothing goes through the bed, the leader hangs from fly to fly, words keep off each other."""

from __future__ import annotations

import itertools
from functools import cache
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from flybench.charts.side_view import drift_picture
from flybench.jobs.river.rigs import RigDrift, drift_rig
from flybench.quantity import Floats
from flybench.shop.river.goal_words import of_ten
from flybench.shop.river.rig_texts import RigTexts

RIGS = {
    "run": (
        "35 cm/s, 3.0 mN",
        ("20 cm/s, 1.0 mN",),
        RigTexts(depth="1.2 m", surface_speed="0.6 m/s", bed="cobble"),
    ),
    "shallow": ("15 cm/s, 0.7 mN", (), RigTexts(depth="0.4 m", surface_speed="0.3 m/s", bed="gravel")),
    "still": (
        "15 cm/s, 0.7 mN",
        (),
        RigTexts(depth="1.5 m", surface_speed="0.3 m/s", bed="sand", hold="still"),
    ),
    "tight": (
        "42 cm/s, 4.6 mN",
        ("20 cm/s, 1.0 mN",),
        RigTexts(depth="1.3 m", surface_speed="0.6 m/s", bed="gravel", hold="tight", lead_speed="0.5 m/s"),
    ),
    "two droppers": (
        "50 cm/s, 6.5 mN",
        ("20 cm/s, 1.0 mN", "12 cm/s, 0.4 mN"),
        RigTexts(depth="2.5 m", surface_speed="0.25 m/s", leader_length="4 m", dropper_level="mid"),
    ),
}


pytestmark = pytest.mark.slow


@cache
def drifted(name: str, draws: int = 9) -> RigDrift:
    point, droppers, texts = RIGS[name]

    def no_catalog() -> object:
        raise AssertionError("nothing is asked of a catalog")

    return drift_rig(no_catalog, texts, point, droppers, draws=draws)  # type: ignore[arg-type]


@cache
def drawn(name: str, draws: int = 9) -> Axes:
    found = drifted(name, draws)
    figure = drift_picture(found.drift, found.goal.level, found.current, found.rig.tackle).figure()
    FigureCanvasAgg(figure).draw()  # type: ignore[no-untyped-call]
    return figure.axes[0]


@pytest.mark.parametrize("name", RIGS)
def test_neither_paths_nor_leader_nor_the_range_go_through_the_bed(name: str) -> None:
    axes, floor = drawn(name), drifted(name).drift.floor
    named = [line for line in axes.lines if not str(line.get_label()).startswith("_")]
    assert len(named) == len(drifted(name).drift.flies) + 1
    for line in named:
        assert np.max(np.asarray(line.get_ydata())) <= floor
    [shaded] = [one for one in axes.collections if one.get_label() == "nine points in ten"]
    assert np.asarray(shaded.get_paths()[0].vertices)[:, 1].max() <= floor


@pytest.mark.parametrize("name", RIGS)
def test_the_leader_ends_at_the_point_and_ways_count_from_where_it_landed(name: str) -> None:
    axes = drawn(name)
    by_label = {str(line.get_label()): line for line in axes.lines}
    point = by_label["point"]
    x, depth = np.asarray(point.get_xdata()), np.asarray(point.get_ydata())
    assert (x[0], depth[0]) == (0.0, 0.0)
    [first] = [line for line in axes.lines if line.get_label() == "leader"]
    assert np.asarray(first.get_xdata())[-1] == 0.0
    leaders = [line for line in axes.lines if len(np.asarray(line.get_xdata())) == 13]
    assert len(leaders) == 5
    last = leaders[-1]
    assert np.asarray(last.get_xdata())[-1] == pytest.approx(x[-1])
    assert np.asarray(last.get_ydata())[-1] == pytest.approx(depth[-1])


def ticks(axes: Axes) -> list[Text]:
    """Return the numbers of the axes that are in view."""
    seen = []
    for axis, (low, high) in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, sorted(axes.get_ylim()))):
        seen += [tick.label1 for tick in axis.get_major_ticks() if low <= tick.get_loc() <= high]
    return seen


@pytest.mark.parametrize("name", RIGS)
def test_words_keep_off_each_other_and_inside_the_picture(name: str) -> None:
    axes = drawn(name)
    legend = axes.get_legend()
    assert legend is not None
    titles = [one for one in axes.get_children() if isinstance(one, Text)]
    words = [*titles, *legend.get_texts(), axes.xaxis.label, axes.yaxis.label, *ticks(axes)]
    boxes = [(text.get_text(), text.get_window_extent()) for text in words if text.get_text().strip()]
    width, height = axes.figure.bbox.size
    for text, box in boxes:
        assert -1 <= box.x0 <= box.x1 <= width + 1, text
        assert -1 <= box.y0 <= box.y1 <= height + 1, text
    for (one, here), (other, there) in itertools.combinations(boxes, 2):
        apart = here.x1 <= there.x0 or there.x1 <= here.x0 or here.y1 <= there.y0 or there.y1 <= here.y0
        assert apart, f'"{one}" lies on "{other}"'


def test_a_line_that_begins_in_the_air_is_told_as_such() -> None:
    assert any(
        text.get_text().startswith("3.3 m of line from the rod's tip") for text in drawn("tight").texts
    )
    assert any(text.get_text().startswith("2.4 m of leader") for text in drawn("run").texts)


def grey_of(axes: Axes) -> Floats:
    """Return the picture in grey, 0 to 255."""
    canvas = FigureCanvasAgg(axes.get_figure(root=True))
    canvas.draw()  # type: ignore[no-untyped-call]
    picture: Any = np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
    grey: Floats = picture[..., :3].mean(axis=-1)
    return grey


def test_the_fish_s_level_can_be_told_in_black_and_white() -> None:
    """The hatch makes the level uneven in grey, while the water above it is plain."""
    axes = drawn("shallow")
    grey = grey_of(axes)
    _, right = axes.get_xlim()

    def patch(deep: float) -> Floats:
        x, y = axes.transData.transform((0.72 * right, deep))
        cut: Floats = grey[round(grey.shape[0] - y) - 8 :][:16, round(x) - 8 : round(x) + 8]
        return cut

    fish, stones, water = patch(0.33), patch(0.41), patch(0.1)
    assert np.ptp(water) == 0
    assert np.ptp(fish) > 50
    assert np.ptp(stones) > 10
    assert abs(np.median(fish) - np.median(water)) > 10


def test_the_best_estimate_alone_has_no_range_to_show() -> None:
    labels = [one.get_label() for one in drawn("shallow", 0).collections]
    assert "nine points in ten" not in labels


def test_a_landing_is_drawn_as_far_as_is_advised_and_said_to_be_missing_where_none_is() -> None:
    words = {text.get_text().strip() for text in drawn("run").texts}
    assert f"land it {drifted('run').drift.landing:.1f} m upstream" in words
    assert np.isinf(drifted("still").drift.landing)
    told = [text.get_text() for text in drawn("still").texts if "land it" in text.get_text()]
    share = of_ten(drifted("still").drift.share_down)
    assert told == [f"down in time in {share}, and 8 of 10 drifts are wanted: no place to land it"]
