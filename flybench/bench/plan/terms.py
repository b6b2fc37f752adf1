"""What is wished for, and what each part of a set-up adds to the uncertainty before a drop is filmed.

Relative standard uncertainties throughout, from the formulas the measurement itself uses.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from scipy.special import chdtri, ndtri

from flybench.bench.fit.drop_pooling import EXPECTED_SPREAD, pool_drops
from flybench.bench.fit.fall import MASS_FACTOR_SPREAD, left_out_share
from flybench.bench.fit.fall_model import bound_per_noise, depth_of, frame_times, from_rest, jacobian
from flybench.bench.sheet.settings import GAP_UNCERTAINTY, TYPED_UNCERTAINTY, Settings, TankSettings
from flybench.bench.verdict.free_water import free_water
from flybench.bench.view.geometry import UPRIGHT_UNCERTAINTY
from flybench.hydraulics import falling_body as falling
from flybench.hydraulics.refractive_index import refractive_index
from flybench.hydraulics.water import Water
from flybench.quantity import Floats, inside

TRACKING_NOISE = 0.2
"""Rms of the tracking in an ordinary clip [px]."""
WANDER = 0.05
"""How far the middle of a wobbling fly strays from a steady fall, rms over its width (judgement) [-]."""
WANDER_LENGTH = 2.5
"""Fall after which it strays afresh, over its width: half a shedding period at Strouhal number 0.2 [-]."""
ASSURANCE = 0.9
"""Share of runs whose drops scatter no more than planned for: drops of one fly scatter more or less by luck."""


@dataclass(frozen=True)
class PlanGoal:
    """What is wanted and known beforehand.

    speed, about the sink speed [m/s]; precision, wanted expanded relative uncertainty, k = 2 [-];
    response_time [s]; fly_width [m]; temperature [K]; spread, standard deviation from drop to drop over
    the speed [-]; gap_uncertainty, standard [m]; free_water, whether the precision is that of the speed in
    free water; and where already settled: frame_rate [Hz], column, distance and tank_width [m].
    """

    speed: float
    precision: float
    response_time: float
    fly_width: float = 0.006
    temperature: float = 291.15
    spread: float = EXPECTED_SPREAD
    gap_uncertainty: float = GAP_UNCERTAINTY
    free_water: bool = False
    frame_rate: float | None = None
    column: float | None = None
    distance: float | None = None
    tank_width: float | None = None

    def __post_init__(self) -> None:
        """Refuse what no plan can be made for."""
        for key, low, high, unit, cure in RANGES:
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
    def share(self) -> float:
        """How near to terminal speed the fly should come: within the precision, 95 to 99 % [-]."""
        return min(max(1 - self.precision, 0.95), 0.99)

    def settling_depth(self, share: float) -> float:
        """Return the depth at which a fly let go at rest has this share of its speed [m]."""
        time = falling.time_to_share(share, self.speed, self.response_time)
        return float(falling.depth(time, self.speed, self.response_time))


RANGES = (
    ("speed", 0.01, 3.0, "m/s", "Give about the speed that you expect: flies sink at 5 to 100 cm/s."),
    ("precision", 1e-4, 0.2, "", "Give the ± that you want, as a share of the speed; 2 % is usual."),
    ("response_time", 0.001, 1.0, "s", "Leave it out, or give --density-ratio in its place."),
    ("fly_width", 0.0005, 0.03, "m", "Give the widest side of the fly across its fall, hackle included."),
    ("spread", 0.0, 0.2, "", "Give the standard deviation from drop to drop as a share of the speed."),
    ("gap_uncertainty", 0.0, 0.02, "m", "Give the standard uncertainty of the distance from card to fly."),
    ("frame_rate", 10.0, 1000.0, "Hz", "Give the rate that your camera films at, or leave it out."),
    ("column", 0.05, 3.0, "m", "Give the height of water that the camera sees, or leave it out."),
    ("distance", 0.05, 5.0, "m", "Give the distance from lens to tank front, or leave it out."),
    ("tank_width", 0.05, 5.0, "m", "Give the inner width of the tank, or leave it out."),
)
"""Key, least and most value in SI, unit and cure: wide enough for any tank and fly, narrow enough to catch a slip
of the unit (judgement)."""


@cache
def wall_share(wish: PlanGoal, tank: float) -> float:
    """Return what taking a square tank's walls out adds; infinite where it is too narrow for that [-]."""
    settings = Settings(wish.temperature, tank=TankSettings(width=tank, depth=tank))
    free = free_water(settings, wish.speed, 0.0, wish.fly_width)
    return free.uncertainty / free.speed if free else math.inf


def fit_share(wish: PlanGoal, column: float, frame_rate: float, pixel: float) -> float:
    """Return the relative standard uncertainty of one drop's fit at best, falling from rest [-].

    The noise of the tracking is new in every frame; the fly's own wobble only every WANDER_LENGTH, so
    more frames than that do not average it and it counts as larger in each.
    """
    fresh = wish.speed / (WANDER_LENGTH * wish.fly_width)
    wobble = WANDER * wish.fly_width * math.sqrt(max(1.0, frame_rate / fresh))
    noise = math.hypot(TRACKING_NOISE * pixel, wobble)
    return noise / wish.speed * bound_per_noise(column, frame_rate, wish.speed, wish.response_time)


@cache
def history_share(wish: PlanGoal, column: float, frame_rate: float) -> float:
    """Return what leaving the history force out adds: a share of the mean shortfall of the speed [-]."""
    times = frame_times(column, frame_rate, wish.speed, wish.response_time)
    shortfall = 1.0 - falling.speed(times, wish.speed, wish.response_time) / wish.speed
    return float(left_out_share(wish.speed, wish.response_time) * np.mean(shortfall))


def place_shares(wish: PlanGoal, gap: float, distance: float, depth: float) -> tuple[float, float, float]:
    """Return what the typed gap, camera distance and fall plane each add (relative, standard) [-].

    The scale of the card is carried to the fly by r = A / (A + g/n), A = distance + depth/n the
    apparent distance of the fly, g the gap, n the index of the water. So the gap's doubt counts over the
    apparent distance, however small the gap; the other two count only as far as there is a gap.
    """
    fly, behind = distance + depth / wish.index, gap / wish.index
    per_gap = 1 / wish.index / (fly + behind)
    per_distance = behind / (fly * (fly + behind))
    typed = TYPED_UNCERTAINTY * per_distance
    return wish.gap_uncertainty * per_gap, typed, typed / wish.index


def upright_share(wish: PlanGoal, column: float, frame_rate: float, apparent: float, pixel: float) -> float:
    """Return what a card that leans against the fall adds, camera at the middle of the column [-]."""
    curved, pulled = _bent_track(column, frame_rate, wish.speed, wish.response_time)
    if not len(pulled):
        return math.inf
    held = np.diag([0.0, (TRACKING_NOISE * pixel / MASS_FACTOR_SPREAD) ** 2, 0.0, 0.0])
    answered = abs(float(np.linalg.solve(curved + held, pulled)[0]))
    return float(answered * UPRIGHT_UNCERTAINTY / (wish.index * apparent) / wish.speed)


@cache
def _bent_track(
    column: float, frame_rate: float, speed: float, response_time: float
) -> tuple[Floats, Floats]:
    """Return the curvature (4, 4) of a fit to a fall through the column, and what depths that are off by the square of
    their distance from its middle [m2] add to its right side (4,), empty where the frames are too few for a fit.

    Both are the same wherever the camera stands.
    """
    values = from_rest(speed, response_time)
    times = frame_times(column, frame_rate, speed, response_time)
    if len(times) < len(values):
        return np.empty((0, 0)), np.empty(0)
    slopes = jacobian(values, times)
    return slopes.T @ slopes, slopes.T @ (depth_of(values, times) - column / 2) ** 2


@cache
def drop_shares(spread: float, own: float, drops: int) -> tuple[float, float]:
    """Return what pooling so many drops leaves from their own uncertainties and from their spread [-].

    The drops stand at even quantiles of a normal law, as wide as ASSURANCE of runs come out at most, and
    are pooled as measured ones are.
    """
    even = ndtri((np.arange(drops) + 0.5) / drops)
    usual = math.hypot(spread, own)
    wide = usual * math.sqrt(chdtri(drops - 1, 1 - ASSURANCE) / (drops - 1))
    pooled = pool_drops(1.0 + wide * even / np.std(even, ddof=1), np.full(drops, own))
    return pooled.within, pooled.between
