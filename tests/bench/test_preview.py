"""A first look at the tank against the pictures' known making: tilt, turn, scale, smear, light and what to change."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scenes import USUAL_PICTURE, scene
from tankview.render import Studio
from tankview.scene import CardSetting
from tankview.simple import aimed

from flybench.bench.clip.clock import Clock, clock_of
from flybench.bench.preview.preview import Change, Preview, preview
from flybench.bench.sheet.settings import CameraSettings, Length, ScaleSettings, Settings, TankSettings
from flybench.telling.bench.look import lines

KNOWN = Settings(
    291.15,
    tank=TankSettings(width=0.2, depth=0.14, wall=0.004, fall_plane=Length(0.07)),
    camera=CameraSettings(distance=Length(0.5)),
    scale=ScaleSettings(card=True, gap=Length(0.012)),
)


def at(rate: float) -> Clock:
    """Return the clock of an even clip [Hz]."""
    return clock_of(np.arange(8) / rate, None, None)


def seen(count: int = 1, **changes: Any) -> Preview:
    studio = Studio(aimed(scene(**(USUAL_PICTURE | changes))))
    pictures: list[NDArray[np.uint8]] = [
        np.clip(np.round(studio.picture(number)), 0, 255).astype(np.uint8) for number in range(count)
    ]
    return preview("tank.png", pictures, at(60.0), KNOWN)


@pytest.mark.slow
def test_a_good_set_up_needs_no_change() -> None:
    good = seen()
    assert good.changes == []
    assert good.card is not None
    assert good.card.share == 1.0
    assert good.card.geometry.metres_per_px == pytest.approx(
        1 / Studio(scene(**USUAL_PICTURE)).px_per_m, rel=0.01
    )
    assert good.precision == pytest.approx(0.02, abs=0.005)


@pytest.mark.slow
def test_a_nearly_black_picture_wants_light_before_anything_else() -> None:
    """With an eighth of the light part of the card is missed, or none is found; both are the dark's doing."""
    for card in (CardSetting(), None):
        assert seen(extras__light=0.12, card=card).changes == [Change.TOO_DARK]
    assert " ".join(" ".join(lines(seen(extras__light=0.12))).split()).endswith(
        "To change: 1. The picture is nearly black. Bring much more light, from the side and away from the water, and look "
        "again. Keep lamps on mains current away from the water."
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"card": None}, [Change.NO_CARD]),
        ({"card__upside_down": True}, [Change.UPSIDE_DOWN]),
        ({"card__roll_deg": 90.0}, [Change.ON_ITS_SIDE, Change.CARD_HIDDEN]),
        ({"card__roll_deg": 6.0}, [Change.ASKEW]),
        ({"camera__tilt_deg": 6.0}, [Change.STEEP]),
        ({"camera__focal_px": 900.0}, [Change.TOO_SMALL]),
        ({"camera__blur_px": 2.4}, [Change.UNSHARP, Change.CARD_HIDDEN]),
        ({"card__hidden": (0.0, 0.4, 1.0, 1.0)}, [Change.CARD_HIDDEN]),
        ({"extras__light": 0.35}, [Change.DARK]),
        ({"extras__light": 1.4}, [Change.BURNT]),
        ({"card__black": 170.0}, [Change.FLAT]),
        ({"backdrop__gradient": 1.4, "card__white": 150.0}, [Change.UNEVEN]),
    ],
    ids=lambda one: "-".join(map(str, one)) if isinstance(one, dict) else None,
)
def test_what_is_wrong_is_named(changes: dict[str, Any], wanted: list[Change]) -> None:
    assert seen(**changes).changes == wanted


@pytest.mark.slow
def test_roll_tilt_smear_and_grain_are_those_of_the_picture() -> None:
    turned = seen(card__roll_deg=4.0).card
    assert turned is not None
    assert turned.roll_deg == pytest.approx(4.0, abs=0.05)
    steep = seen(camera__tilt_deg=5.0).card
    assert steep is not None
    assert steep.geometry.calibration.camera.tilt_degrees == pytest.approx(5.0, abs=0.7)
    for blur in (0.7, 1.2, 1.8):
        light = seen(camera__blur_px=blur).light
        assert light is not None
        # Lens and the pixel's own width: sqrt(blur^2 + 1/12).
        assert light.blur_px == pytest.approx(np.hypot(blur, 12**-0.5), rel=0.15)
    for noise in (2.0, 6.0):
        light = seen(count=4, drops=(), extras__noise=noise).light
        assert light is not None
        assert light.noise == pytest.approx(noise, rel=0.1)


@pytest.mark.slow
def test_a_grainy_picture_and_a_slow_rate_are_told() -> None:
    assert seen(count=3, drops=(), extras__noise=8.0).changes == [Change.NOISY]
    studio = Studio(scene(**USUAL_PICTURE))
    picture = np.clip(studio.picture(0), 0, 255).astype(np.uint8)
    assert preview("a.mp4", [picture, picture], at(15.0), KNOWN).changes == [Change.SLOW_RATE]
    assert preview("a.mp4", [picture, picture], at(60.0), KNOWN).changes == []
