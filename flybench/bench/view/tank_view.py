"""The view: everything about a clip that is known before its frames are read one by one.

From a few sample frames: the reference picture, whether the camera holds still, the card's corners or the
typed points, the calibrated view, and the still background.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Clip
from flybench.bench.clip.orientation import Orientation
from flybench.bench.sheet.settings import LEAST_GAP, MOST_PRINTED, USUAL_PRINT, Settings, TankSettings
from flybench.bench.view import card
from flybench.bench.view.backdrop import Backdrop, as_bright_as, backdrop_of, eight_bit, evenly_lit
from flybench.bench.view.card_corners import CardCorners, find_corners, refine_corners
from flybench.bench.view.geometry import Geometry, ScalePoints, look
from flybench.bench.view.steadiness import (
    Follower,
    MotionTracker,
    Steadiness,
    card_steadiness,
    ground_steadiness,
    moved,
    moved_back,
)
from flybench.bench.view.typed_points import typed_points, were_rescaled
from flybench.bench.view.watch import Watch, watch_of
from flybench.errors import BadValueError, FlybenchError

Floats = NDArray[np.float64]
Picture = NDArray[Any]

SAMPLES = 10
"""Frames looked at before all others [-]: the middle one of ten is background even where the fly hangs in the same place
in four of them (judgement)."""
FEWEST_CORNERS = 8
"""Corners of the card that a scale needs [-]: the view has seven unknowns, each corner tells two numbers, and these
leave nine to show a card that is bent (judgement)."""
_SEARCHED = 5
"""Samples searched for the card [-]: a hand that hides it in one is gone in another (judgement)."""
_PLENTY = 0.85
"""Share of the corners at which the search ends [-]: more adds little to the scale (judgement)."""
_READABLE = 0.6
"""Share of the corners below which the card counts as hidden, or its corners as at odds [-]: with a strip gone, half
are left and the tilt across is poorly known (judgement)."""
PER_LETTER_CARD = 56
"""Inner corners of the smaller card: two strips of 14 rows of 2."""
_DOUBTFUL_PX = 0.35
"""Root mean square distance of corners from the flat card above which it is doubted [px]: seven times what a corner
averaged over sharp pictures is good for (judgement)."""
STEEP_DEGREES = 3.0
"""Angle of the view to the card from which it is flagged [degrees]: half a metre away it changes
the scale by 2 to 3 % along a fall of 250 mm, which then hangs on the tilt (judgement)."""
_PRINT_TOLERANCE = 0.003
"""Difference of the bar from 100 mm from which the printer is said to have scaled, relative [-]: the ruler's own +-0.3 mm."""


@dataclass(frozen=True)
class TankView:
    """The view of the tank, the background, and how the camera moved between samples."""

    geometry: Geometry
    backdrop: Backdrop
    tracker: Follower
    steadiness: Steadiness
    reference: Picture
    """Upright reference picture."""
    flags: list[str]
    """What the sample pictures tell, whatever the settings."""
    watch: Watch
    """What the frames are held against as they stream by."""


def view_tank(clip: Clip, settings: Settings) -> TankView:
    """Look at sample frames and calibrate.

    Raises FlybenchError where no card is found, BadValueError where typed points lie outside the picture, or are of one of
    another shape, and for a tank in which the card has no room.
    """
    pictures = [eight_bit(sample.luma, sample.shift) for sample in clip.samples(SAMPLES)]
    if len(pictures) < 2:
        raise FlybenchError(f"{clip.name}: holds a single picture. Film the whole fall as a clip.")
    orientation = clip.orientation
    corners, chosen = _card(pictures, orientation, clip.name) if settings.scale.card else (None, 0)
    reference = pictures[chosen]
    tracker, steadiness = _steadiness(clip, pictures, reference, corners)
    scale_points, flags = _scale_points(settings, corners, pictures, orientation, steadiness)
    geometry = look(settings, scale_points)
    flags += _motion_flags(steadiness)
    backdrop = backdrop_of(evenly_lit(_aligned(pictures, steadiness)))
    watch = watch_of(
        pictures, backdrop, len(clip.survey.key_times), clip.survey.times, not settings.scale.card
    )
    return TankView(geometry, backdrop, tracker, steadiness, orientation.picture(reference), flags, watch)


def _card(pictures: Sequence[Picture], orientation: Orientation, name: str) -> tuple[CardCorners, int]:
    """Return the corners of the sample that shows the card best, and which sample that is."""
    best, chosen = CardCorners(np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=np.int64)), 0
    order = np.linspace(0, len(pictures) - 1, min(_SEARCHED, len(pictures))).round().astype(int)
    for number in order:
        found = find_corners(orientation.picture(pictures[number]))
        if len(found.numbers) > len(best.numbers):
            best, chosen = found, int(number)
        if len(best.numbers) >= _PLENTY * PER_LETTER_CARD:
            break
    if len(best.numbers) < FEWEST_CORNERS:
        raise FlybenchError(
            f"{name}: the scale card was not found ({len(best.numbers)} corners seen, {FEWEST_CORNERS} needed). Show both "
            "strips sharp and evenly lit, filling most of the picture; or give scale.points and scale.length."
        )
    return best, chosen


def _scale_points(
    settings: Settings,
    corners: CardCorners | None,
    pictures: Sequence[Picture],
    orientation: Orientation,
    steadiness: Steadiness,
) -> tuple[ScalePoints, list[str]]:
    """Return known pixels and places: corners averaged over all samples that show them, or the typed points."""
    size = (orientation.width, orientation.height)
    if corners is None:
        return typed_points(settings, size), []
    seen = []
    for picture, motion in zip(pictures, steadiness.motions, strict=True):
        there = orientation.upright(moved(orientation.stored(corners.pixels), motion))
        if not _all_inside(there, size):
            continue
        found = refine_corners(
            orientation.picture(picture), CardCorners(there, corners.places, corners.numbers)
        )
        seen.append(orientation.upright(moved_back(orientation.stored(found), motion)))
    pixels = np.median(np.array(seen or [corners.pixels]), axis=0)
    scale = settings.scale.bar.value / card.BAR if settings.scale.bar else 1.0
    _check_room(settings.tank, float(np.ptp(corners.places[:, 0])) * scale)
    flags = ["card-upside-down"] if corners.upside_down else []
    return ScalePoints(pixels, corners.places * scale, size), flags


def _all_inside(pixels: Floats, size: tuple[int, int]) -> bool:
    """Tell whether all pixels lie in the upright picture of this size [px], and not where a phone was turned away from."""
    return bool(np.all((pixels >= 0.0) & (pixels <= np.array(size) - 1.0)))


def _check_room(tank: TankSettings, wide: float) -> None:
    """Refuse a tank that is narrower than what was seen of the card in it, ``wide`` [m]."""
    if tank.width is not None and tank.width < wide:
        raise BadValueError(
            "tank.width",
            f"{1e3 * tank.width:.4g} mm is less than the card takes that stands in the tank: its corners lie over "
            f"{1e3 * wide:.0f} mm",
            "Measure the inside of the tank across the view again, and look for a slip of the decimal point or the unit",
        )


def scale_flags(geometry: Geometry) -> list[str]:
    """Return what is doubtful about the scale."""
    contradicted = not geometry.guessed_distance and geometry.reason.distance is not None
    flags = ["distance-guessed"] if geometry.guessed_distance else []
    flags += ["distance-doubt"] if contradicted or geometry.lens_unlikely else []
    if not geometry.settings.scale.card:
        rescaled = were_rescaled(geometry.settings, geometry.scale_points.size)
        return flags + (["points-rescaled"] if rescaled else [])
    calibration, scale = geometry.calibration, geometry.settings.scale
    off = 0.0 if scale.bar is None else abs(scale.bar.value / card.BAR - 1.0)
    used = int(calibration.used.sum())
    checks = {
        "card-hidden": used < _READABLE * PER_LETTER_CARD,
        "scale-doubt": calibration.residual_px > _DOUBTFUL_PX or used < _READABLE * len(calibration.used),
        "perspective": calibration.camera.tilt_degrees > STEEP_DEGREES,
        "card-size-unchecked": scale.bar is None,
        "card-size": _PRINT_TOLERANCE < off <= USUAL_PRINT,
        "card-size-unusual": USUAL_PRINT < off <= MOST_PRINTED,
        "card-size-odd": off > MOST_PRINTED,
        "squeezed-picture": geometry.reason.aspect != 1.0,
        "gap-unknown": not scale.gap_known,
        "gap-doubt": scale.gap_known and scale.gap.value < LEAST_GAP,
    }
    return flags + [flag for flag, raised in checks.items() if raised]


def _steadiness(
    clip: Clip, pictures: Sequence[Picture], reference: Picture, corners: CardCorners | None
) -> tuple[Follower, Steadiness]:
    """Return what follows the camera's shaking, and whether there is any."""
    if corners is None:
        turned = clip.orientation.quarter_turns % 2 != 0
        return ground_steadiness(pictures, 0 if turned else 1, len(clip.survey.key_times))
    tracker = MotionTracker(reference, clip.orientation.stored(corners.pixels))
    return tracker, card_steadiness(tracker, as_bright_as(reference, pictures))


def _motion_flags(steadiness: Steadiness) -> list[str]:
    if not steadiness.told:
        return ["steadiness-unknown"]
    if steadiness.still:
        return []
    if steadiness.regrown:
        return ["card-in-two-places"]
    return [
        "card-moved" if steadiness.jumped else "hand-held",
        *([] if steadiness.sized else ["size-unwatched"]),
    ]


def _aligned(pictures: Sequence[Picture], steadiness: Steadiness) -> list[Picture]:
    """Return the samples as the reference picture sees them."""
    if steadiness.still:
        return list(pictures)
    size = (pictures[0].shape[1], pictures[0].shape[0])
    options: dict[str, Any] = {
        "flags": cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        "borderMode": cv2.BORDER_REPLICATE,
    }
    pairs = zip(pictures, steadiness.motions, strict=True)
    return [cv2.warpAffine(picture, motion, size, **options) for picture, motion in pairs]
