"""The time base: slow motion undone, and how even and how complete the frames' times are."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError

Floats = NDArray[np.float64]

CLOCK_UNCERTAINTY = 1e-4
"""Relative standard uncertainty of a phone's frame times: a camera's quartz clock is good to some tens
of parts per million (common practice, no source)."""
TAG_UNCERTAINTY = 5e-4
"""The same where slow motion was undone with a nominal rate (common practice, no source): 240 stands for 239.76 too."""
MOST_STRETCH = 100.0
"""Largest stretch believed [-]: 960 pictures a second played at 24 make 40 (judgement)."""
_WHOLE = 0.02
"""Furthest from a whole number that a tag's stretch is still taken for one, relative [-]: phones state nominal rates and
keep them only nearly (common practice, no source; the limit is a judgement)."""
_STRETCHED = 1.25
"""Least rate in a tag over stored rate that counts as slow motion [-]: well above the odd per cent of nominal rates,
and below 2, the least that phones offer (judgement)."""
_SAME = 0.002
"""Furthest from the clip's own rate that a typed one is the same by another name, relative [-]: 30 stands for 29.97, 60 for
59.94 (common practice, no source); the clip's own times are then the better ones."""
_NEAR = 0.02
"""Furthest that a typed rate is still taken for the nominal one of a clip in real time, relative [-]: phones lengthen gaps in
dim light, and cameras keep their rate to a hundredth (common practice, no source). What lies beyond _SAME is carried as a
doubt."""
_BELOW = 0.98
"""Least typed rate over the clip's own that is believed [-]: cameras keep their nominal rate to a hundredth (common practice,
no source)."""
_ORDINARY = 62.0
"""Rate in a tag up to which a clip is not taken for slow motion by the tag alone [Hz]: phones offer slow motion from 100 a
second on (common practice, no source)."""
_ROUNDED = 0.1
"""Spread of the gaps over the gap up to which the whole span tells the rate better than the median gap [-]: times in whole
milliseconds at 240 a second spread by 0.07 (worked out)."""
_LEAST_TICK, _TICK, _OF_GAP = 5e-4, 1 / 500, 0.55
"""Ticks that times are looked at for being rounded to [s], and their largest share of the least gap [-]: a thousandth of a
second, as in WebM, and a six-hundredth, as in many QuickTime files (common practice, no source)."""
_WITHIN = 1.05
"""Width in ticks within which rounded times lie about an even beat [-]: one, and a little for the beat's own uncertainty."""
_CONTRADICTED = 0.05
"""Logarithm of stated length over that of the pictures beyond which a file is not measured without the user's rate [-]: a
doubt of a twentieth is as much as a usable result can bear (judgement)."""


class Source(StrEnum):
    """What says how fast the camera filmed."""

    TYPED = "typed"
    TAGGED = "tagged"
    UNTOLD = "untold"


@dataclass(frozen=True)
class TimesDoubt:
    """What speaks against a file's own times before any frame is looked at."""

    made_up: bool = False
    """True for a raw stream, which has none."""
    header_ratio: float = 1.0
    """Length that the file's header states over that of its pictures [-]."""
    slowed: str = ""
    """What says that the clip is not played as fast as it was filmed, but not at what rate that was; empty: nothing does."""
    by_edit_list: bool = False
    """True where that is an edit list, whose speed a typed rate leaves out."""

    @property
    def none(self) -> bool:
        """Tell whether nothing does."""
        return not self.made_up and self.header_ratio == 1.0


NO_DOUBT = TimesDoubt()


@dataclass(frozen=True)
class Clock:
    """How clip time becomes real time: real = clip time / stretch."""

    stretch: float
    capture_rate: float
    """Frames a second of real time [Hz], from the median gap between frames."""
    jitter: float
    """Spread of the gaps between frames, as a share of the median gap (missing frames left out)."""
    missing: int
    """Frames that the gaps show to be missing."""
    relative_uncertainty: float
    guessed: bool = False
    """True where the capture rate does not fit the clip's own rate by a whole number."""
    source: Source = Source.UNTOLD
    tag_ratio: float | None = None
    """Rate in the file's tag over the one used [-]; None where they agree or there is no tag."""

    times_believed: bool = True
    """False where the clip's own times are made up or contradicted, so that the stretch says nothing of slow motion."""

    @property
    def slowing(self) -> float:
        """Return how many times slower than real the clip is known to play [-]."""
        return self.stretch if self.times_believed else 1.0

    @property
    def stored_rate(self) -> float:
        """Return the frames a second of clip time [Hz]."""
        return self.capture_rate / self.stretch


def clock_of(
    times: Floats, tag: float | None, given: float | None, times_doubt: TimesDoubt = NO_DOUBT
) -> Clock:
    """Find the slow-motion stretch from presentation times [s], the file's tag [Hz] or the user's rate [Hz].

    The user's rate wins over the tag and is used as typed. The stretch is the capture rate over the rate of the stored
    times (median gap, so that dropped frames do not matter); a tag's is a whole number where it is one within 2 %.
    Times that are made up, or that the file's header contradicts by more than a twentieth, need the user's rate, and so do
    those of a slowed clip without a tag; a smaller contradiction is carried as the clock's uncertainty.
    Raises BadValueError where the given capture rate is below the rate of the clip's own times, more than MOST_STRETCH
    times above it, or missing where it is needed.
    """
    if given is None:
        _check_times(times_doubt)
    gaps = np.diff(times)
    gaps = gaps[gaps > 0]
    if gaps.size == 0:
        return Clock(1.0, tag or given or 0.0, 0.0, 0, CLOCK_UNCERTAINTY)
    gap = _usual_gap(gaps)
    jitter, missing = _evenness(gaps, gap)
    evenness = (0.0 if _ticked(gaps) else jitter), missing
    if given is not None:
        timed = times_doubt.none
        stretch = _typed(given, gap, timed)
        doubt = _typed_doubt(given * gap) if stretch == 1.0 and timed else TAG_UNCERTAINTY
        guessed = timed and _whole(stretch)[1]
        differing = _differing(tag, gap, stretch)
        if stretch == 1.0 and given <= _ORDINARY and not times_doubt.by_edit_list:
            _check_marked(times_doubt, f"{given:g} Hz has the clip play in real time, but")
        return Clock(stretch, stretch / gap, *evenness, doubt, guessed, Source.TYPED, differing, timed)
    source = Source.UNTOLD if tag is None else Source.TAGGED
    stretch, guessed, differing = (1.0, False, None) if tag is None else _tagged(tag, gap)
    if stretch == 1.0 and (tag is None or 1 / gap <= _ORDINARY):
        _check_marked(times_doubt, "is missing, and")
    doubt = TAG_UNCERTAINTY if stretch > 1 else CLOCK_UNCERTAINTY
    doubt = float(np.hypot(doubt, times_doubt.header_ratio - 1.0))
    return Clock(stretch, stretch / gap, *evenness, doubt, guessed, source, differing)


def _usual_gap(gaps: Floats) -> float:
    """Return the usual gap between frames [s]: the median one, or that of the whole span where times are coarsely rounded.

    Some containers round times to a millisecond, by which the median gap is up to 6 % off at 120 a second.
    """
    gap = _ticked(gaps) or float(np.median(gaps))
    jitter, missing = _evenness(gaps, gap)
    whole = float(gaps.sum()) / (len(gaps) + missing)
    return whole if jitter < _ROUNDED and abs(whole / gap - 1.0) > _SAME else gap


def _ticked(gaps: Floats) -> float | None:
    """Return the even gap [s] that times rounded to whole ticks stand for: all lie within a tick of an even beat; else None.

    240 a second in ticks of 1/600 s have gaps of two and three ticks by turns.
    """
    kinds = np.unique(np.round(gaps, 6))
    tick = float(np.diff(kinds).min()) if len(kinds) > 1 else 0.0
    if not _LEAST_TICK < tick <= _TICK + 1e-6 or tick > _OF_GAP * kinds[0]:
        return None
    times = np.concatenate([[0.0], np.cumsum(gaps)])
    steps = np.maximum(np.round(gaps / float(np.mean(gaps[gaps < kinds[0] + 1.5 * tick]))), 1.0)
    beats = np.concatenate([[0.0], np.cumsum(steps)])
    gap = float(np.polyfit(beats, times, 1)[0])
    return gap if np.ptp(times - gap * beats) <= _WITHIN * tick else None


def _tagged(tag: float, gap: float) -> tuple[float, bool, float | None]:
    """Return the stretch by a tag, whether it is no whole number, and the tag's rate over the one used where they differ.

    A tag below the clip's own rate contradicts it. One a little above, or an ordinary rate above it, is what a phone
    means to film at, which it does not keep to in dim light, or a copy has lost pictures: the clip's own times are used.
    """
    ratio = tag * gap
    ordinary = tag <= _ORDINARY and ratio > 1 + _WHOLE
    if ratio < 1 - _WHOLE or 1 + _WHOLE < ratio < _STRETCHED or ordinary:
        return 1.0, False, ratio
    return *_whole(ratio), None


def _check_marked(doubt: TimesDoubt, beginning: str) -> None:
    """Refuse real time for a clip that its phone marked as slow motion."""
    if doubt.slowed:
        raise BadValueError(
            "camera.capture_rate",
            f"{beginning} {doubt.slowed}",
            "Give the rate at which the camera filmed: the phone's camera shows it when slow motion is chosen",
        )


def _check_times(doubt: TimesDoubt) -> None:
    """Refuse times that nobody can trust."""
    if doubt.made_up:
        raise BadValueError(
            "camera.capture_rate",
            "is missing, and the file holds pictures without times (a raw stream)",
            "Give the rate at which the camera filmed, or copy the clip from the phone again as an MP4 or MOV file",
        )
    if abs(np.log(doubt.header_ratio)) > _CONTRADICTED:
        raise BadValueError(
            "camera.capture_rate",
            f"is missing, and the file contradicts itself: it says that it lasts {doubt.header_ratio:.3g} times as long as "
            "its pictures do",
            "Copy the clip from the phone again, unedited, or give the rate at which the camera filmed",
        )


def _differing(tag: float | None, gap: float, stretch: float) -> float | None:
    """Return the stretch by the tag over that by the typed rate, None where they say the same."""
    ratio = 1.0 if tag is None else _tagged(tag, gap)[0] / stretch
    return None if abs(ratio - 1.0) <= _WHOLE else ratio


def _typed(given: float, gap: float, timed: bool) -> float:
    """Return the stretch of a typed rate, refusing one that cannot be."""
    ratio = given * gap
    if timed and ratio < _BELOW:
        raise BadValueError(
            "camera.capture_rate",
            f"{given:g} Hz is below the clip's own {1 / gap:.4g} frames a second",
            "Give the rate at which the camera filmed, or leave it out",
        )
    if timed and ratio > MOST_STRETCH:
        raise BadValueError(
            "camera.capture_rate",
            f"{given:g} Hz is {ratio:.3g} times the clip's own {1 / gap:.4g} frames a second, and no camera slows down by "
            f"more than {MOST_STRETCH:g}",
            "Give the rate at which the camera filmed, in frames a second",
        )
    return 1.0 if timed and abs(ratio - 1.0) <= _NEAR else ratio


def _typed_doubt(ratio: float) -> float:
    """Return the clock's doubt where a typed rate stands for real time: either of the two may be right (GUM 4.3.7)."""
    off = abs(ratio - 1.0)
    return CLOCK_UNCERTAINTY if off <= _SAME else float(np.hypot(CLOCK_UNCERTAINTY, off / np.sqrt(3)))


def _whole(ratio: float) -> tuple[float, bool]:
    """Return the stretch of a tag and whether it is no whole number."""
    nearest = round(ratio)
    if ratio < _STRETCHED:
        return 1.0, False
    if abs(ratio / nearest - 1.0) <= _WHOLE:
        return float(nearest), False
    return ratio, True


def _evenness(gaps: Floats, gap: float) -> tuple[float, int]:
    steps = np.maximum(np.round(gaps / gap), 1.0)
    jitter = float(np.std(gaps - steps * gap) / gap)
    return jitter, int(np.sum(steps - 1))
