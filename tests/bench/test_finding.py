"""What counts as a drop and what does not, and the flags that rendered trouble raises."""

from __future__ import annotations

from pathlib import Path

import pytest
from clips import measured, pairs, rendered, result_of
from kitchen.falls import strange
from scenes import CLEAN, HARD, USUAL_PICTURE, falls, scene
from tankview.scene import Drop
from tankview.simple import drops

from flybench.errors import FlybenchError

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("name", "flag"),
    [
        ("hand shake of 9 px", "hand-held"),
        ("dropped frames", "frames-missing"),
        ("phone tilted by 4 degrees", "perspective"),
        ("hidden half of the card", "card-hidden"),
        ("card upside down", "card-upside-down"),
        ("printed at 97 %", "card-size"),
    ],
)
def test_trouble_raises_its_flag(name: str, flag: str, folder: Path) -> None:
    assert flag in result_of(HARD[name], folder)[0].flags


def test_a_clean_clip_of_four_drops_is_good_without_flags(folder: Path) -> None:
    clean = scene(**USUAL_PICTURE, drops=drops(4, 1.7), duration=7.0)
    result, truth = result_of(clean, folder)
    assert result.verdict == "good"
    assert result.all_flags == []
    assert len(result.used_drops) == len(truth.drops) == 4


def test_card_that_slips_between_drops_is_noticed(folder: Path) -> None:
    slipping = scene(card__move=(0.003, 0.004), card__move_at=1.9)
    result, truth = result_of(slipping, folder)
    assert "card-moved" in result.flags
    assert all(abs(pair.error) < 0.01 for pair in pairs(result, truth))


def test_fall_during_which_the_card_slips_is_refused(folder: Path) -> None:
    """The picture leaps by 5 mm in the first fall; the second is before the card at rest again."""
    slipping = scene(card__move=(0.003, 0.004), card__move_at=0.8)
    result, truth = result_of(slipping, folder)
    assert [drop.used for drop in result.drops] == [False, True]
    assert "poor-fit" in result.drops[0].flags
    assert "card-moved" in result.flags
    assert abs(pairs(result, truth)[0].error) < 0.01


def test_unmeasured_bar_is_a_doubt_and_widens_the_interval(folder: Path) -> None:
    path, _ = rendered(CLEAN["60 a second"], folder)
    result = measured(CLEAN["60 a second"], path, {"bar": None}).result
    assert "card-size-unchecked" in result.flags
    assert result.verdict == "usable"
    line = next(line for line in result.budget if line.source == "print size of the card")
    assert line.standard_uncertainty == pytest.approx(0.005 * (result.sink_speed or 0), rel=1e-3)


def test_two_flies_at_once_are_refused(folder: Path) -> None:
    pair = scene(drops=(Drop(start=0.3, release_x=-0.012), Drop(start=0.36, release_x=0.014)), duration=1.9)
    result, _ = result_of(pair, folder)
    assert len(result.drops) == 2
    assert all("two-flies" in drop.flags for drop in result.drops)
    assert result.sink_speed is None


def test_a_pair_spoils_only_itself(folder: Path) -> None:
    three = scene(
        drops=(Drop(start=0.2), Drop(start=2.0, release_x=-0.012), Drop(start=2.1, release_x=0.014)),
        duration=3.6,
    )
    result, truth = result_of(three, folder)
    assert ["two-flies" in drop.flags for drop in result.drops] == [False, True, True]
    assert [drop.used for drop in result.drops] == [True, False, False]
    assert abs(pairs(result, truth)[0].error) < 0.01


def test_shadow_and_wall_image_are_no_second_fly(folder: Path) -> None:
    shaded = scene(extras__shadow=0.35, extras__ghost=0.3)
    result, truth = result_of(shaded, folder)
    assert len(result.used_drops) == len(truth.drops)
    assert "two-flies" not in result.all_flags


def test_nothing_falls(folder: Path) -> None:
    bare = scene(drops=(), duration=1.5)
    result, _ = result_of(bare, folder)
    assert result.drops == []
    assert result.verdict == "refused"


def test_rising_bubbles_alone_are_no_drop(folder: Path) -> None:
    rising = scene(drops=(), duration=2.0, extras__bubbles=8, extras__bubble_diameter=(0.003, 0.005))
    result, _ = result_of(rising, folder)
    assert result.drops == []
    assert any(why.startswith("rose") for why in result.left_out)


def test_wetting_shows_as_a_trend(folder: Path) -> None:
    """The dressing lets air go: each drop 2 % faster than the one before."""
    slower = scene(**falls(0.28))
    four = drops(4, 2.1, terminal_speed=0.28, response_time=0.06)
    wetting = slower.but(
        drops=four, duration=8.6, **{f"drops__{i}__terminal_speed": 0.28 * 1.02**i for i in range(4)}
    )
    assert "wetting" in result_of(wetting, folder)[0].flags


def test_tumbling_fly_is_flagged(folder: Path) -> None:
    tumbling = scene(fly__tumble_deg_s=500.0)
    assert "tumbling" in result_of(tumbling, folder)[0].all_flags


def test_slanting_path_is_flagged(folder: Path) -> None:
    slanting = scene(**falls(0.30, slope=0.16, release_x=-0.02))
    assert "tilted-path" in result_of(slanting, folder)[0].all_flags


def test_clip_without_the_card_says_so(folder: Path) -> None:
    without = scene(card=None, duration=0.6)
    path, _ = rendered(without, folder)
    with pytest.raises(FlybenchError) as caught:
        measured(scene(), path)
    assert str(caught.value) == (
        f"{path.name}: the scale card was not found (0 corners seen, 8 needed). Show both strips sharp and evenly lit, "
        "filling most of the picture; or give scale.points and scale.length."
    )


def test_a_drop_of_another_fly_is_left_out(folder: Path) -> None:
    """The first of three falls twice as fast as the others, which agree: the mean is theirs."""
    result, truth = result_of(strange(1, 2.0), folder)
    assert [drop.used for drop in result.drops] == [False, True, True]
    assert result.drops[0].flags == ["stray-drop"]
    assert abs((result.sink_speed or 0.0) / truth.drops[1].terminal_speed_m_s - 1.0) < 0.005
