"""What each part of a set-up adds to the uncertainty of the sink speed, before a single drop is filmed.

Relative standard uncertainties throughout, from the formulas the measurement itself uses.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from scipy.special import stdtrit

from flybench.bench.fall_bound import bound_per_noise
from flybench.bench.settings import TYPED_UNCERTAINTY
from flybench.hydraulics import falling
from flybench.hydraulics.refractive import refractive_index
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.walls import wall_factor
from flybench.hydraulics.water import Water
from flybench.quantity import COVERAGE_FACTOR, inside

FOCAL = 0.75
"""Focal length of a phone's main camera over the long side of its picture [-]."""
PLUNGE_HEIGHT = 0.005
"""How far above the water a gently dropped fly is let go [m]."""
WANDER = 0.05
"""How far the middle of a wobbling fly strays from a steady fall, rms over its width (judgement) [-]."""
WANDER_LENGTH = 2.5
"""Fall after which it strays afresh, over its width: half a shedding period at Strouhal number 0.2 [-]."""
LEAN = 0.01
"""How far a fall strays along the view, rms over its depth (judgement) [-]."""

_COVERAGE = 0.9545


@dataclass(frozen=True)
class Wish:
    """What is wanted and known beforehand.

    speed, about the sink speed [m/s]; precision, wanted expanded relative uncertainty, k = 2 [-];
    response_time [s]; fly_width [m]; temperature [K]; spread, standard deviation from drop to drop
    over the speed [-]; tracking_noise, rms [px]; pixels along the picture's long side; and where
    already settled: frame_rate [Hz], column (visible height) and gap (card to where the fly falls) [m].
    """

    speed: float
    precision: float
    response_time: float
    fly_width: float = 0.006
    temperature: float = 291.15
    spread: float = 0.015
    tracking_noise: float = 0.2
    pixels: int = 1920
    frame_rate: float | None = None
    column: float | None = None
    gap: float | None = None

    def __post_init__(self) -> None:
        """Refuse what no plan can be made for."""
        for key, low, high, unit, cure in _RANGES:
            value = getattr(self, key)
            if value is not None:
                inside(key.replace("_", "-"), value, low, high, unit, cure)

    @cached_property
    def water(self) -> Water:
        """The water in the tank."""
        return Water(self.temperature)

    @cached_property
    def index(self) -> float:
        """Refractive index of the water [-]."""
        return float(refractive_index(self.temperature, self.water.density))

    @property
    def reynolds(self) -> float:
        """Reynolds number of the fall, on the fly's width [-]."""
        return self.speed * self.fly_width / self.water.kinematic_viscosity

    @property
    def share(self) -> float:
        """How near to terminal speed the fly should come: within the precision, 95 to 99 % [-]."""
        return min(max(1 - self.precision, 0.95), 0.99)

    @property
    def approach(self) -> float:
        """Depth to settle in, from rest or from a gentle plunge, whichever takes longer [m]."""
        return max(settling_depth(self, self.share, 0.0), settling_depth(self, self.share, plunge_speed()))


_RANGES = (
    ("speed", 0.01, 3.0, "m/s", "Give about the speed expected: flies sink at 5 to 100 cm/s."),
    ("precision", 1e-4, 0.2, "", "Give a wish from 0.01 % to 20 %; 3 % is usual."),
    ("response_time", 0.001, 1.0, "s", "Give 1 ms to 1 s, or leave it off and give --density-ratio."),
    ("fly_width", 0.0005, 0.04, "m", "Give the widest side of the fly across its fall, 0.5 to 40 mm."),
    ("spread", 0.0, 0.2, "", "Give the standard deviation from drop to drop, 0 to 20 %."),
    ("tracking_noise", 0.01, 5.0, "px", "Give 0.01 to 5 pixels; 0.2 is usual."),
    ("pixels", 480, 8000, "px", "Give the picture's long side, for example 1920."),
    ("frame_rate", 10.0, 1000.0, "Hz", "Give 10 to 1000 Hz, or leave it off."),
    ("column", 0.05, 3.0, "m", "Give the visible height of water, 50 mm to 3 m, or leave it off."),
    ("gap", 0.0, 0.5, "m", "Give card to where the fly falls, 0 to 500 mm, or leave it off."),
)


def settling_depth(wish: Wish, share: float, start_speed: float) -> float:
    """Return the depth at which the speed is within 1 - share of terminal for good [m]."""
    start = start_speed / wish.speed
    aim = share if start < 1 else 2 - share
    if abs(1 - start) <= 1 - share:
        return 0.0
    time = falling.time_to_share(aim, wish.speed, wish.response_time, start_speed)
    return float(falling.depth(time, wish.speed, wish.response_time, start_speed))


def plunge_speed() -> float:
    """Return the speed of a fly let go just above the water as it enters [m/s]."""
    return math.sqrt(2 * GRAVITY * PLUNGE_HEIGHT)


def picture_height(wish: Wish, distance: float, depth: float) -> float:
    """Return how much the picture's long side takes in, so deep in the water [m]; near the axis."""
    return (distance + depth / wish.index) / FOCAL


def wall_share(wish: Wish, tank: float) -> float:
    """Return the relative standard uncertainty of the wall correction [-]."""
    factor = wall_factor(wish.fly_width / tank, wish.reynolds)
    return factor.standard_uncertainty / factor.value


def fit_share(wish: Wish, column: float, frame_rate: float, pixel: float) -> float:
    """Return the relative standard uncertainty of one drop's fit at best, falling from rest [-].

    The noise of the tracking is new in every frame; the fly's own wobble only every WANDER_LENGTH.
    """
    fresh = wish.speed / (WANDER_LENGTH * wish.fly_width)
    noises = ((wish.tracking_noise * pixel, frame_rate), (WANDER * wish.fly_width, min(fresh, frame_rate)))
    return math.hypot(
        *(
            noise / wish.speed * bound_per_noise(column, rate, wish.speed, wish.response_time)
            for noise, rate in noises
        )
    )


def lean_share(wish: Wish, column: float, distance: float, depth: float) -> float:
    """Return what one fall's straying along the view adds: half of it over the apparent distance [-]."""
    return LEAN * column / 2 / (wish.index * distance + depth)


def card_place(wish: Wish, gap: float, distance: float, depth: float) -> tuple[float, float]:
    """Return what the typed gap, and the typed distance and depth, each add (relative, standard) [-].

    The scale of the card is carried to the fly by r = A / (A + g/n), A = distance + depth/n the
    apparent distance of the fly, g the gap, n the index of the water.
    """
    fly, behind = distance + depth / wish.index, gap / wish.index
    per_gap = 1 / wish.index / (fly + behind)
    per_distance = behind / (fly * (fly + behind))
    return TYPED_UNCERTAINTY * per_gap, TYPED_UNCERTAINTY * per_distance * math.hypot(1, 1 / wish.index)


def small_sample(drops: int) -> float:
    """Return how much a spread seen in few drops must be widened for k = 2 to cover 95.45 % [-]."""
    return float(stdtrit(drops - 1, (1 + _COVERAGE) / 2)) / COVERAGE_FACTOR
