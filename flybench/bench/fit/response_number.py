"""How fast a fall came to its speed: the response number tau g / v, with nothing that pulls or limits it.

tau g / v = (s + C_a) / (s - 1) holds neither length, drag nor weight, only the density ratio s of body to water
and its added mass C_a: about 1.1 for tungsten, 4 for s = 1.5, 10 for s = 1.2. Seen q times too slow it is q^2
times as large, which is what tells slow motion (v' = v / q, tau' = q tau; algebra). The fit of the speed keeps
the response time within what flies can do; here it is free.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from flybench.bench.fit.wander_likelihood import wander_likelihoods
from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Floats

NUMBERS = np.geomspace(0.01, 1500.0, 100)
"""Response numbers tried [-]: from a dense fly (1) whose times were divided by ten without reason, to a light
fly (10) seen twelve times too slow, in steps of an eighth (judgement)."""
_READINGS = 64
"""Most readings fitted [-]: neighbours of a longer track are averaged; an approach then still has some ten (judgement)."""
_STARTS = (0.3, 1.8)
"""Start speeds over the terminal speed from which the fit sets out [-]: let go, and pushed in."""
_ROUNDS = 12
"""Steps of the fit [-]: it comes to rest in some ten."""
_MOST_START = 15.0
"""Largest start speed over the terminal speed [-]: pushed in at metres a second; the least is rest."""
_SLOWEST, _FASTEST = 1e-4, 50.0
"""Terminal speeds tried [m/s]: far beyond any fly's, filmed slowed down or not."""
_UNSEEN_SLOW, _UNSEEN_FAST = 0.75, 1.3
"""Start speeds over the terminal speed between which too little of the approach was seen for it to speak of slow motion [-]:
in simulated falls that had begun two response times before, one in twenty was called slowed that was not."""
_COARSE = 1.5
"""Gaps between frames below which a response time is as good as none [-]: the approach is over by the second reading."""
_USUAL = 2.5
"""Response number that is never held against a fall which hardly shows its approach [-]: one of a usual fly, so that such a
fall can speak against slow motion only (judgement)."""
_BENT = 0.02
"""Standard deviation of the change of speed from the middle to the end of a view, relative, that tilt, lens and drift leave
in a track [-]: one degree of an unseen tilt half a metre away makes a hundredth (judgement)."""
_OPEN = 800.0
"""Response number at which a fit still as good as the best shows that no approach was seen, only a bend [-] (judgement)."""
_PLAIN = 6.0
"""Rise of the log likelihood over that of a steady speed from which an approach was seen at all [-]: 400 times as likely, any
wander about a steady speed allowed for (judgement)."""


@dataclass(frozen=True)
class ResponseProfile:
    """Log likelihood (n,) of each of NUMBERS for one fall, 0 at its best; flat where the fall does not tell."""

    log_likelihood: Floats
    start_share: float
    """Start speed over terminal speed at the best number [-]."""

    @property
    def approach_seen(self) -> bool:
        """Tell whether the fall began far enough from its terminal speed to show how long the approach takes."""
        return not _UNSEEN_SLOW < self.start_share < _UNSEEN_FAST


def response_profile(times: Floats, depths: Floats, least_noise: float) -> ResponseProfile:
    """Return how well each response number fits a fall, speed, start speed and start depth free for each.

    L is that of readings that scatter, about a fall from which the body may have wandered (``wander_likelihood``).
    Where the approach was hardly seen a number below the best fits as well as the best.

    Parameters: times [s], ascending; depths [m]; least_noise, scatter of one reading that is always borne [m].
    Range: six readings and more.
    """
    t, z = _averaged(times - times[0], depths)
    fall = _Track(t, z, _looseness(t, z, least_noise))
    values = _fitted(fall)
    found = wander_likelihoods(*_beside(values, fall), t, least_noise)
    best = int(np.argmax(found))
    told = found - found[best]
    rise = found[best] - float(wander_likelihoods(*_steady(fall), t, least_noise)[0])
    if rise < _PLAIN or np.max(told[NUMBERS > _OPEN]) > -2.0:
        return ResponseProfile(np.zeros(len(NUMBERS)), 1.0)
    profile = ResponseProfile(told, float(values[best, 1]))
    unresolved = _COARSE * float(np.median(np.diff(times))) * GRAVITY / float(values[best, 0])
    coarse = unresolved > NUMBERS
    told[coarse] = np.max(told[coarse], initial=-np.inf)
    if not profile.approach_seen:
        told[max(float(NUMBERS[best]), _USUAL) > NUMBERS] = 0.0
    return profile


def _averaged(t: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Return at most _READINGS means of neighbouring readings, the first ones left single."""
    if len(t) <= _READINGS:
        return t, z
    edges = np.unique(np.round(np.linspace(0.0, 1.0, _READINGS + 1) ** 1.5 * len(t)).astype(int))
    sizes = np.diff(edges)
    return np.add.reduceat(t, edges[:-1]) / sizes, np.add.reduceat(z, edges[:-1]) / sizes


@dataclass(frozen=True)
class _Track:
    """Times [s] and depths [m] to be fitted; ``loose`` turns the bend's own doubt into depths [m]."""

    t: Floats
    z: Floats
    loose: float

    @cached_property
    def bend(self) -> Floats:
        """Return the depths that a speed rising by its own from the middle to the end adds [m]."""
        slope, whole = float(np.polyfit(self.t, self.z, 1)[0]), float(self.t[-1])
        return np.asarray(slope * (self.t - whole / 2) ** 2 / whole)


def _looseness(t: Floats, z: Floats, least_noise: float) -> float:
    """Return the scatter of one reading about a smooth path over that of the bend [m]."""
    share = (t[1:-1] - t[:-2]) / (t[2:] - t[:-2])
    off = z[1:-1] - (1 - share) * z[:-2] - share * z[2:]
    scatter = 1.4826 * float(np.median(np.abs(off) / np.sqrt(1 + share**2 + (1 - share) ** 2)))
    return max(scatter, least_noise) / _BENT


def _steady(fall: _Track) -> tuple[Floats, Floats]:
    """Return depths (1, n + 1) [m] and slopes (1, n + 1, 3) of a bent straight line, the last row the bend's own doubt."""
    columns = np.column_stack([fall.t, np.ones(len(fall.t)), fall.bend])
    return np.append(fall.z, 0.0)[None], np.vstack([columns, [0.0, 0.0, fall.loose]])[None]


def _beside(values: Floats, fall: _Track) -> tuple[Floats, Floats]:
    """Return what is left beside each fitted fall (m, n + 1) [m], and its slopes; a start speed at its limit stays there."""
    over, slopes = _depths(values, NUMBERS, fall)
    slopes[(values[:, 1] <= 0.0) | (values[:, 1] >= _MOST_START), :, 1] = 0.0
    return -over, slopes


def _fitted(fall: _Track) -> Floats:
    """Return for each number the best speed, start share, start depth and bend (n, 4) if nothing wandered.

    Damped Gauss-Newton steps from each of the start shares, all numbers at once; the last of what is left is the bend's.
    """
    slope = float(np.clip(np.polyfit(fall.t, fall.z, 1)[0], _SLOWEST, _FASTEST))
    number = np.repeat(NUMBERS, len(_STARTS))
    share = np.tile(_STARTS, len(NUMBERS))
    values = np.column_stack(
        [np.full(len(number), slope), share, np.full(len(number), fall.z[0]), 0 * number]
    )
    damping = np.full(len(number), 1e-2)
    over, slopes = _depths(values, number, fall)
    for _ in range(_ROUNDS):
        values, over, slopes, damping = _stepped(values, over, slopes, damping, number, fall)
    chi2 = np.sum(over**2, axis=1).reshape(-1, len(_STARTS))
    best = np.arange(len(NUMBERS)) * len(_STARTS) + np.argmin(chi2, axis=1)
    return np.asarray(values[best])


def _stepped(
    values: Floats, over: Floats, slopes: Floats, damping: Floats, number: Floats, fall: _Track
) -> tuple[Floats, Floats, Floats, Floats]:
    """Take one damped step where it fits better; damp more where it does not. Depths and slopes go with the values."""
    across = slopes.transpose(0, 2, 1)
    normal = across @ slopes
    normal[:, range(4), range(4)] *= 1 + damping[:, None]
    normal[:, range(4), range(4)] += 1e-15
    step = np.linalg.solve(normal, across @ -over[:, :, None])[:, :, 0]
    tried = values + step
    tried[:, 0] = np.clip(tried[:, 0], values[:, 0] / 2, values[:, 0] * 2).clip(_SLOWEST, _FASTEST)
    tried[:, 1] = np.clip(tried[:, 1], 0.0, _MOST_START)
    left, there = _depths(tried, number, fall)
    better = np.sum(left**2, axis=1) < np.sum(over**2, axis=1)
    values, over, slopes = values.copy(), over.copy(), slopes.copy()
    values[better], over[better], slopes[better] = tried[better], left[better], there[better]
    return values, over, slopes, np.where(better, damping / 5, damping * 5).clip(1e-9, 1e6)


def _depths(values: Floats, number: Floats, fall: _Track) -> tuple[Floats, Floats]:
    """Return depths less those seen (m, n + 1) [m], and their slopes (m, n + 1, 4).

    z = z0 + v t + v tau ln[(1 + e) / 2 + (1 - e) / 2 exp(-2 t / tau)] + bend, tau = number v / g
    (``hydraulics.falling_body.depth`` in another form, for many falls at once); the last is the bend's own doubt.
    """
    speed, share, start, bent = (column[:, None] for column in values.T)
    t = fall.t
    tau = number[:, None] * speed / GRAVITY
    fading = np.exp(-2.0 * t / tau)
    inner = np.maximum((1 + share) / 2 + (1 - share) / 2 * fading, 1e-12)
    curve, reach = np.log(inner), speed * tau
    over = start + speed * t + reach * curve + bent * fall.bend - fall.z
    by_speed = t + 2 * tau * curve + (1 - share) * fading * t / inner
    by_share = reach * (1 - fading) / 2 / inner
    slopes = np.stack(
        [by_speed, by_share, np.ones_like(over), np.broadcast_to(fall.bend, over.shape)], axis=2
    )
    own = np.zeros((len(values), 1, 4))
    own[:, 0, 3] = fall.loose
    return np.hstack([over, bent * fall.loose]), np.concatenate([slopes, own], axis=1)
