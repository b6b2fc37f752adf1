"""The tank before the evening starts: what one picture, or two seconds of clip, tell of it, and what to change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.plan.set_up import SHUTTER, SQUARE_PX, BenchSetUp
from flybench.bench.plan.terms import PlanGoal
from flybench.bench.preview.card_light import CardLight, card_light
from flybench.bench.sheet.settings import Settings
from flybench.bench.view.card import SQUARE
from flybench.bench.view.card_corners import CardCorners, find_corners
from flybench.bench.view.geometry import Geometry, ScalePoints, look
from flybench.bench.view.tank_view import FEWEST_CORNERS, PER_LETTER_CARD, STEEP_DEGREES
from flybench.hydraulics import falling_body as falling

Picture = NDArray[np.uint8]

SPEED, DENSITY_RATIO, DROPS = 0.3, 2.5, 5
"""The fly whose precision is foretold [m/s], its density over water's [-] and its drops [-]: a middling nymph, and as
many drops as an evening allows (judgement)."""
GOAL = PlanGoal(SPEED, 0.02, float(falling.response_time(SPEED, DENSITY_RATIO)))
"""That fly for a plan, with the plan's usual width, spread and water; its wanted precision [-] is not used."""
TANK = 0.14
"""Tank along the view, where nothing is known yet [m]: that of the bench's own example (judgement)."""
ASKEW = 3.0
"""Turn of the card in the picture from which it is to be put right [degrees]: the fall runs out of the picture's middle
(judgement)."""
SOFT_PX = 2.0
"""Smear of an edge from which the picture counts as unsharp [px]: three times a good phone's (judgement)."""
DARK, FLAT, NOISY, UNEVEN, BURNT = 90.0, 60.0, 5.0, 0.5, 0.3
"""Paper darker than this [of 255], paper less ink, noise between pictures, darkest over lightest paper, and share burnt
out, from which the light is to be bettered (judgement)."""
NEARLY_BLACK = 45.0
"""Grey level [of 255] below which nearly all of a picture lies where it is too dark for anything else to be judged: half of
DARK, where the card itself may no longer be found (judgement)."""
SMALL = 0.55
"""Share of the picture's height that the card should fill at least [-]: below it half the pixels go to waste (judgement)."""
WHOLE = 0.9
"""Share of its corners from which the card counts as wholly seen [-]: a few may always be missed (judgement)."""

_LIGHTEST = 95
"""Which of its grey levels tells that a picture is nearly black [percentile]: a lamp in it may be bright (judgement)."""


class Change(StrEnum):
    """What is to be changed before filming, the most important first."""

    TOO_DARK = "too-dark"
    NO_CARD = "no-card"
    UPSIDE_DOWN = "upside-down"
    ON_ITS_SIDE = "on-its-side"
    UNSHARP = "unsharp"
    CARD_HIDDEN = "card-hidden"
    ASKEW = "askew"
    STEEP = "steep"
    TOO_SMALL = "too-small"
    DARK = "dark"
    BURNT = "burnt-out"
    FLAT = "low-contrast"
    UNEVEN = "unevenly-lit"
    NOISY = "noisy"
    SLOW_RATE = "slow-frame-rate"


_OF_THE_DARK = (Change.NO_CARD, Change.CARD_HIDDEN, Change.DARK, Change.FLAT, Change.NOISY)
"""What the dark alone may bring about; it is looked at again once there is light."""


@dataclass(frozen=True)
class CardView:
    """The card as seen: share of its corners [-], roll against the picture [degrees], and the calibrated view."""

    share: float
    roll_deg: float
    square_px: float
    fills: float
    """Share of the picture's height that the card takes [-]."""
    geometry: Geometry

    @property
    def askew_deg(self) -> float:
        """Return the roll less the nearest quarter turn [degrees], -45 to 45."""
        return (self.roll_deg + 45) % 90 - 45

    @property
    def upside_down(self) -> bool:
        """Tell whether the card's arrow points up in the picture: nearer to half a turn than to a quarter."""
        return abs(self.roll_deg) > 135

    @property
    def on_its_side(self) -> bool:
        """Tell whether the card's arrow points to the side: nearer to a quarter turn than to none or half."""
        return 45 < abs(self.roll_deg) <= 135


@dataclass(frozen=True)
class Preview:
    """What was seen; ``clock`` is None for a single picture."""

    name: str
    width: int
    height: int
    card: CardView | None
    light: CardLight | None
    clock: Clock | None
    precision: float | None
    """Expanded relative uncertainty (k = 2) to expect of the speed in the tank [-]; None where it cannot be told."""
    changes: list[Change]


@dataclass(frozen=True)
class _SeenSetUp(BenchSetUp):
    """A set-up whose pixel [m] was seen and need not be reckoned from a phone's usual lens."""

    seen_pixel: float

    @property
    def pixel(self) -> float:
        """Return the size of a pixel where the fly falls [m]."""
        return self.seen_pixel

    @property
    def picture(self) -> float:
        """Return how much the picture's long side takes in [m]: the column, which is as much as can be seen."""
        return self.column


def preview(
    name: str, pictures: Sequence[Picture], clock: Clock | None = None, settings: Settings | None = None
) -> Preview:
    """Return the first look at upright grey pictures, shape (rows, columns) each, of one view.

    Parameters: clock of the clip, None for a still; settings, tank and camera as far as they are known, a phone's usual
    lens else.
    """
    height, width = pictures[0].shape
    corners = find_corners(pictures[0])
    known = settings or Settings(GOAL.temperature)
    known = replace(known, scale=replace(known.scale, card=True, points=None, length=None))
    seen = len(corners.numbers) >= FEWEST_CORNERS
    card = _card_view(corners, (width, height), known) if seen else None
    light = card_light(pictures, corners) if card is not None else None
    rate = clock.capture_rate if clock is not None else None
    precision = _precision(card, height, rate) if card and not card.on_its_side else None
    changes = _changes(card, light, rate)
    if np.percentile(pictures[0], _LIGHTEST) < NEARLY_BLACK:
        changes = [Change.TOO_DARK, *(one for one in changes if one not in _OF_THE_DARK)]
    return Preview(name, width, height, card, light, clock, precision, changes)


def _card_view(corners: CardCorners, size: tuple[int, int], settings: Settings) -> CardView:
    geometry = look(settings, ScalePoints(corners.pixels, corners.places, size))
    turn = corners.turn
    square = abs(turn) * SQUARE
    tall = float(np.ptp(corners.pixels[:, 1])) + 2 * square
    return CardView(
        min(len(corners.numbers) / PER_LETTER_CARD, 1.0),
        float(np.degrees(np.angle(turn))),
        square,
        min(tall / size[1], 1.0),
        geometry,
    )


def _precision(card: CardView, height: int, capture_rate: float | None) -> float | None:
    """Return what five drops of a middling fly, measured here, may be expected to be good to."""
    pixel = card.geometry.metres_per_px
    column, rate = min(pixel * height, 3.0), min(max(capture_rate or 30.0, 10.0), 1000.0)
    seen = _SeenSetUp(GOAL, TANK, card.geometry.fall.thickness[0], column, rate, DROPS, pixel)
    return seen.in_tank if isfinite(seen.in_tank) else None


def _changes(card: CardView | None, light: CardLight | None, rate: float | None) -> list[Change]:
    """Return what is to be changed, in the order of ``Change``."""
    if card is None or light is None:
        return [Change.NO_CARD]
    smear = 0.0 if rate is None else SPEED / rate * SHUTTER
    whole = card.share >= WHOLE
    raised = {
        Change.UPSIDE_DOWN: card.upside_down,
        Change.ON_ITS_SIDE: card.on_its_side,
        Change.CARD_HIDDEN: not whole,
        Change.ASKEW: abs(card.askew_deg) > ASKEW,
        Change.STEEP: card.geometry.calibration.camera.tilt_degrees > STEEP_DEGREES,
        Change.TOO_SMALL: card.square_px < SQUARE_PX or (whole and card.fills < SMALL),
        Change.UNSHARP: light.blur_px is not None and light.blur_px > SOFT_PX,
        Change.DARK: whole and light.white < DARK,
        Change.BURNT: light.clipped > BURNT,
        Change.FLAT: whole and light.contrast < FLAT,
        Change.UNEVEN: whole and light.evenness < UNEVEN,
        Change.NOISY: light.noise is not None and light.noise > NOISY,
        Change.SLOW_RATE: smear > GOAL.fly_width / 2,
    }
    return [change for change in Change if raised.get(change)]
