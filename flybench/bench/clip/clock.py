"""The time base: slow motion undone, and how even and how complete the frames' times are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError

Floats = NDArray[np.float64]

CLOCK_UNCERTAINTY = 1e-4
"""Relative standard uncertainty of a phone's frame times: a camera's quartz clock is good to some tens
of parts per million (common practice, no source)."""
TAG_UNCERTAINTY = 5e-4
"""The same where slow motion was undone with a nominal rate (common practice, no source)."""
_WHOLE = 0.02
"""Furthest from a whole number that a stretch is still taken for one, relative [-]: phones state nominal rates and
keep them only nearly (common practice, no source; the limit is a judgement)."""
_STRETCHED = 1.25
"""Least capture rate over stored rate that counts as slow motion [-]: well above the odd per cent of nominal rates,
and below 2, the least that phones offer (judgement)."""


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


def clock_of(times: Floats, tag: float | None, given: float | None) -> Clock:
    """Find the slow-motion stretch from presentation times [s], the file's tag [Hz] or the user's rate [Hz].

    The user's rate wins over the tag. The stretch is the capture rate over the rate of the stored times
    (median gap, so that dropped frames do not matter), taken as a whole number where it is one within 2 %.
    Raises BadValueError where the given capture rate is below the rate of the clip's own times.
    """
    gaps = np.diff(times)
    gaps = gaps[gaps > 0]
    if gaps.size == 0:
        return Clock(1.0, tag or given or 0.0, 0.0, 0, CLOCK_UNCERTAINTY)
    gap = float(np.median(gaps))
    capture = given if given is not None else tag
    ratio = 1.0 if capture is None else capture * gap
    if given is not None and ratio < 1 / _STRETCHED:
        raise BadValueError(
            "camera.capture_rate",
            f"{given:g} Hz is below the clip's own {1 / gap:.4g} frames a second",
            "Give the rate at which the camera filmed, or leave it out",
        )
    stretch, guessed = _whole(ratio)
    doubt = TAG_UNCERTAINTY if stretch > 1 else CLOCK_UNCERTAINTY
    return Clock(stretch, stretch / gap, *_evenness(gaps, gap), doubt, guessed)


def _whole(ratio: float) -> tuple[float, bool]:
    """Return the stretch and whether it is no whole number."""
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
