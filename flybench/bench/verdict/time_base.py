"""Whether a clip's times are real: what its file says, and what the falls themselves tell of slow motion.

A clip seen q times too slow shows q^2 times the response number and q^2 times the drag on what is seen of the fly.
Both are weighed against what flies can have, for q = 1 and for the stretches that cameras and editors make.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from flybench.bench.clip.clock import Clock, Source
from flybench.bench.fit.response_number import ResponseProfile
from flybench.bench.fit.stretch_evidence import approach_log, approach_told, bell, drag_log, speed_log
from flybench.bench.sheet.settings import FlySettings
from flybench.hydraulics.water import Water
from flybench.quantity import Measured

SURE, UNLIKELY = 0.95, 0.02
"""Probability of real time from which the falls prove it, and below which they refute it [-] (judgement, by simulated
falls: slow motion is then taken for real time in fewer than one in two hundred)."""
IMPOSSIBLE = 0.001
"""Probability below which a stated rate is refuted [-]: the file or the user said so, which counts for much (judgement)."""
STRETCHES: dict[float, float] = {
    0.125: 0.02, 0.25: 0.02, 0.5: 0.03, 1.5: 0.03, 2.0: 1.0, 3.0: 0.2, 4.0: 1.0, 5.0: 0.2, 6.0: 0.1, 8.0: 1.0,
    10.0: 0.2, 16.0: 0.4, 32.0: 0.2,
}  # fmt: skip
"""Stretches weighed against real time, and their weights [-]: phones slow down by 2, 4 and 8 (common practice, no source),
editors by anything, and seldom the other way (judgement)."""
_REAL_ALONE, _REAL_QUICK = 0.5, 0.8
"""Probability of real time before the falls were looked at, where nothing states the rate [-]: a clip of usual rate; one of
48 a second and more, as phones store slow motion at 30 and only editors otherwise. It lies so far below SURE that the falls
have to say something for real time, even where the speed rules out that the clip is slowed by more than 2 (judgement)."""
_REAL_STATED, _REAL_HALF_STATED, _REAL_DISPUTED = 0.97, 0.65, 0.6
"""The same for a stated rate [-]: a usual one; one that slows down by about 2, which hardly a phone does, but a copy that
kept every other frame seems to, or one in a tag of a clip that no phone writes so; one that the user typed against the
file's own (judgement)."""
_BORNE_OUT = 0.8
"""Probability of a stated rate below which it is doubted [-]: between those of a usual and of an unusual one where the falls
tell nothing (judgement)."""
_QUICK_RATE = 48.0
"""Frames a second of clip time from which a clip counts as quick [Hz]."""
_LEAST_SLOWING = 2.5
"""Stretch from which a stated rate is a usual one [-]: phones store 120 and 240 a second at 30 (common practice, no
source)."""
_PLAYED_AT, _PLAYED_NEAR = (24.0, 25.0, 30.0), 0.03
"""Frames a second at which phones have their slow motion played [Hz], and how near to one of them a clip has to be, relative
[-]: 30, which 29.97 stands for, seldom 24 or 25 (common practice, no source). A tag of slow motion beside any other rate was
carried over from another clip, or the copy lost pictures, or was put into real time."""
_CAMERA_RATES = (24.0, 25.0, 30.0, 50.0, 60.0, 100.0, 120.0, 240.0, 480.0, 960.0)
"""Frames a second at which phones film [Hz] (common practice, no source)."""
_ODD_FROM, _ODD_BY, _ODD_EVEN = 32.0, 0.03, 0.01
"""Stored rate from which one that lies off all camera rates by more than the second value, relative, was made by an editor
[Hz, -], if its gaps are as even as the third, over the gap [-]: a sensor's own clock is not, and slower ones belong to
webcams and to phones in dim light (judgement)."""
_CONFORMED = (1.1, 1.45)
"""How many times slower than filmed programs play a clip when they fit it to another rate, every picture kept [-]: 30 a
second played at 24 or 25, 60 at 50 (common practice, no source). 30 and 60 themselves are made of no camera's rate so."""
_OPEN = 0.05
"""Likelihood of such a stretch over that of real time from which it stays open [-] (judgement)."""
_PACE, _PACE_SPREAD = 0.27, 0.5
"""Usual sink speed of a weighted fly [m/s], and standard deviation of its logarithm [-]: the bands of ISO 3, R10, from 10 to
80 cm/s lie within two of them (judgement). It may only take away from what a clip proves."""
_NAMED = 0.9
"""Share of the probability of being slowed that the stretches named to the user hold together [-] (judgement)."""


@dataclass(frozen=True)
class TimeBase:
    """What the times rest on, and what the falls say of them."""

    source: Source
    rate_hz: float
    """Frames a second at which the clip was taken to be filmed [Hz]."""
    real: float
    """Probability that the times are right: what the falls show, on top of what the file's rate says."""
    shown: float
    """The same from the falls alone, for which real time and slow motion were equally likely before."""
    factors: tuple[float, ...]
    """How many times the clip is likely played too slowly, if it is: the likeliest stretches, the best first [-]."""
    stretch: float = 1.0
    """Times slower than real that the clip plays, by the rate used [-]."""
    tag_ratio: float | None = None
    """Rate in the file over the one used [-]; None where they agree or there is no tag."""
    conformed: float = 1.0
    """How many times slower than filmed the clip may be played to fit another rate [-]; 1 where the falls rule it out."""

    @property
    def proved(self) -> bool:
        """Tell whether the file says how fast the camera filmed, or the falls show it."""
        return self.source is not Source.UNTOLD or (self.shown > SURE and self.conformed == 1.0)

    @property
    def flag(self) -> str | None:
        """Return the flag to raise, if any."""
        if self.source is not Source.UNTOLD:
            return self._stated_flag
        odds = (1 - _REAL_QUICK) / _REAL_QUICK if self.rate_hz >= _QUICK_RATE else 1.0
        if self.shown < UNLIKELY * odds:
            return "looks-slowed" if self.factors[0] > 1 else "looks-sped-up"
        return None if self.real > SURE and self.conformed == 1.0 else "taken-as-real-time"

    @property
    def _stated_flag(self) -> str | None:
        if self.real < IMPOSSIBLE:
            return "rate-contradicted"
        if self.tag_ratio is not None:
            return None if self.real > SURE else "rates-differ"
        return None if self.real > _BORNE_OUT else "rate-not-borne-out"


def judged(
    clock: Clock,
    profiles: list[ResponseProfile],
    speed: float,
    density: Measured | None,
    drag: Measured | None,
    filled: float = 1.0,
) -> TimeBase:
    """Weigh the falls of one clip: other stretches against the clock as it is.

    Parameters: clock; profiles, one a drop; speed, as the clock has it [m/s]; density ratio of fly to water [-]; drag,
    2 W / (rho A v^2) on the disc of the seen breadth [-]; None where not known; filled, the least share of that disc that
    drags [-].
    """
    dragged = partial(drag_log, drag=drag, filled=filled)
    told = approach_told(profiles)
    others = _others(clock)
    seen = {q: approach_log(q, told, density) + dragged(q) + speed_log(speed * q) for q in (1.0, *others)}
    paced = {q: log + bell(np.log(speed * q / _PACE), _PACE_SPREAD) for q, log in seen.items()}
    shown = _shares(seen, others, _REAL_ALONE)
    weighed = (
        (seen, paced) if clock.source is Source.UNTOLD else (_held_back(seen, paced, dragged, clock.slowing),)
    )
    real = min(_shares(one, others, _before(clock))[1.0] for one in weighed)
    likely = _likely(_shares(paced, others, 0.0))
    fitted = (q for q in _conformed(clock) if seen[q] - seen[1.0] > np.log(_OPEN))
    return TimeBase(
        clock.source,
        clock.capture_rate,
        real,
        shown[1.0],
        likely,
        clock.slowing,
        clock.tag_ratio,
        max(fitted, default=1.0),
    )


def _others(clock: Clock) -> dict[float, float]:
    """Return the stretches weighed against the clock's own, relative to it, with their weights [-].

    Besides STRETCHES: a stated rate that is wrong for a clip in real time, the rate in the file where the user typed
    another, and what an editor may have made an odd rate of.
    """
    found = dict(STRETCHES)
    if clock.source is not Source.UNTOLD and clock.slowing != 1:
        found[1 / clock.slowing] = 1.0
    if _oddly_tagged(clock):
        found |= {0.5: 1.0, 2.0: 1.0}
    if clock.tag_ratio is not None:
        found[clock.tag_ratio] = 1.0
    if clock.source is Source.UNTOLD and _odd(clock):
        found |= {rate / clock.stored_rate: 1.0 for rate in _CAMERA_RATES[2:]}
    return found | dict.fromkeys(_conformed(clock), 1.0)


def _conformed(clock: Clock) -> list[float]:
    """Return how many times slower than filmed an untold clip may be played, fitted from one camera's rate to another."""
    stretches = [rate / clock.stored_rate for rate in _CAMERA_RATES]
    least, most = _CONFORMED
    return [q for q in stretches if least < q < most] if clock.source is Source.UNTOLD else []


def _oddly_tagged(clock: Clock) -> bool:
    """Tell whether a tag has the clip slowed down from a rate at which phones do not have slow motion played."""
    off = min(abs(clock.stored_rate / usual - 1) for usual in _PLAYED_AT)
    return clock.source is Source.TAGGED and clock.slowing > 1 and off > _PLAYED_NEAR


def _odd(clock: Clock) -> bool:
    """Tell whether no camera films at the clip's rate so evenly."""
    rate = clock.stored_rate
    off = min(abs(rate / usual - 1) for usual in _CAMERA_RATES)
    return rate > _ODD_FROM and off > _ODD_BY and clock.jitter < _ODD_EVEN


def _held_back(
    seen: dict[float, float], paced: dict[float, float], dragged: Callable[[float], float], stretch: float
) -> dict[float, float]:
    """Return what speaks for each stretch under a stated rate.

    Usual speeds count only against what is too fast for a fly. Under stated slow motion a large drag does not speak for
    still slower motion: hackle drags that is hardly seen, and nobody states too little.
    """
    own = paced[1.0] - seen[1.0]
    held = {q: log + max(paced[q] - log - own, 0.0) if q < 1 else log for q, log in seen.items()}
    if stretch == 1:
        return held
    usual = dragged(1.0)
    return {q: log - max(dragged(q) - usual, 0.0) if q > 1 else log for q, log in held.items()}


def density_ratio(fly: FlySettings, water: Water) -> Measured | None:
    """Return the density of the fly over that of the water [-] from what the sheet says, None where it does not."""
    if fly.mass is None:
        return None
    mass, doubt = fly.mass
    if fly.mass_in_water is not None:
        displaced = mass - fly.mass_in_water[0]
        spread = float(np.hypot(doubt, fly.mass_in_water[1])) / displaced
    elif fly.volume is not None:
        displaced, spread = fly.volume[0] * water.density, fly.volume[1] / fly.volume[0]
    else:
        return None
    ratio = mass / displaced
    return Measured(ratio, ratio * float(np.hypot(spread, doubt / mass)))


def seen_drag(weight: Measured | None, speed: float, breadth: float, water: Water) -> Measured | None:
    """Return 2 W / (rho A v^2) on the disc of a breadth [m] at a speed [m/s]; None without a weight [N]."""
    if weight is None:
        return None
    found = 2 * weight.value / (water.density * np.pi / 4 * breadth**2 * speed**2)
    return Measured(found, found * weight.standard_uncertainty / weight.value)


def _shares(logs: dict[float, float], others: dict[float, float], before: float) -> dict[float, float]:
    """Return the probability of each stretch [-]; ``before`` is that of the clock's own without the falls."""
    weights = {q: (1 - before) * weight / sum(others.values()) for q, weight in others.items()}
    weights[1.0] = before
    top = max(logs.values())
    found = {q: weights[q] * float(np.exp(log - top)) for q, log in logs.items()}
    return {q: share / sum(found.values()) for q, share in found.items()}


def _before(clock: Clock) -> float:
    """Return the probability of the clock's own stretch before the falls were looked at [-]."""
    if clock.source is not Source.UNTOLD:
        if clock.tag_ratio is not None:
            return _REAL_DISPUTED
        unusual = 1 < clock.slowing < _LEAST_SLOWING
        return _REAL_HALF_STATED if unusual or _oddly_tagged(clock) else _REAL_STATED
    if _odd(clock) or clock.stored_rate < _QUICK_RATE:
        return _REAL_ALONE
    return _REAL_QUICK


def _likely(shares: dict[float, float]) -> tuple[float, ...]:
    """Return the likeliest stretches that together hold _NAMED of the probability, the best first."""
    named: list[float] = []
    for q in sorted(shares, key=lambda stretch: -shares[stretch]):
        named.append(q)
        if sum(shares[one] for one in named) >= _NAMED:
            break
    return tuple(named)
