"""The still background: the middle value of sample frames, and how much each place flickers about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[Any]

EIGHTH = (slice(4, None, 8), slice(4, None, 8))
"""One pixel in eight each way: enough to judge the light by."""
_FLICKER = 0.012
"""Change of a row's light that is taken out as flicker, relative [-]: at 200 grey levels some 2.4, a quarter of the
least threshold of spotting (judgement)."""

_LAMP = 0.1
"""Change of a picture's light from which it is taken out before corners are followed, natural logarithm [-]: they are
followed as well through less (judgement)."""


@dataclass(frozen=True)
class Backdrop:
    """Median and spread (about half the middle two thirds) of the samples, stored orientation, 0 to 255."""

    median: Picture
    spread: Picture

    @property
    def noise(self) -> float:
        """Return the usual spread of a pixel: the noise of the clip [grey levels]."""
        return max(float(np.mean(self.spread[::7, ::7])), 0.5)


def eight_bit(luma: Picture, shift: int) -> Picture:
    """Return a luma plane on the 0 to 255 scale; an eight-bit one is returned as it is."""
    return luma if shift == 0 else cv2.convertScaleAbs(luma, alpha=0.5**shift)


def row_gain(picture: Picture, usual: Picture) -> NDArray[np.float32] | None:
    """Return a picture's brightness over the usual one row by row [-], shape (rows, 1), or None where steady.

    ``usual`` holds one pixel in eight each way. Mains light makes bands that run along the sensor's rows;
    exposure makes the same gain everywhere.
    """
    ratio = (picture[EIGHTH] + np.float32(1.0)) / (usual + np.float32(1.0))
    half = ratio.shape[1] // 2
    ratio = np.partition(ratio, half, axis=1)[:, half]
    rows = np.asarray(cv2.blur(ratio.astype(np.float32).reshape(-1, 1), (1, 5)))
    if np.abs(rows - 1.0).max() < _FLICKER:
        return None
    column = cv2.resize(rows.reshape(-1, 1), (1, picture.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(column.reshape(-1, 1), dtype=np.float32)


def evenly_lit(samples: Sequence[Picture]) -> list[Picture]:
    """Return the samples with the bands of flickering light taken out, so that they do not pass for spread."""
    usual = np.median([sample[EIGHTH] for sample in samples], axis=0)
    gains = [row_gain(sample, usual) for sample in samples]
    return [
        sample
        if gain is None
        else np.asarray(cv2.multiply(sample, _wide(1.0 / gain, sample), dtype=cv2.CV_8U))
        for sample, gain in zip(samples, gains, strict=True)
    ]


def as_bright_as(reference: Picture, pictures: Sequence[Picture]) -> list[Picture]:
    """Return the pictures, those made as bright as the reference that a lamp or the phone made brighter or darker."""
    usual = reference[EIGHTH] + np.float32(1.0)
    gains = [float(np.median((picture[EIGHTH] + np.float32(1.0)) / usual)) for picture in pictures]
    return [
        picture if abs(np.log(gain)) < _LAMP else np.asarray(cv2.convertScaleAbs(picture, alpha=1.0 / gain))
        for picture, gain in zip(pictures, gains, strict=True)
    ]


def _wide(column: Picture, picture: Picture) -> Picture:
    return np.repeat(column, picture.shape[1], axis=1)


def backdrop_of(samples: Sequence[Picture]) -> Backdrop:
    """Sort the samples pixel by pixel and take the middle one and the middle two thirds.

    A sorting network of whole-picture minimum and maximum steps does in some hundredths of a second what
    ``numpy.median`` does in most of a second.
    """
    lanes = _sorted(samples)
    n = len(lanes)
    sixth = n // 6
    return Backdrop(lanes[n // 2], _spread(lanes[sixth], lanes[n // 2], lanes[n - 1 - sixth]))


def middle_value(samples: Sequence[Picture]) -> Picture:
    """Return the middle value of samples pixel by pixel, of whatever type they are."""
    return _sorted(samples)[len(samples) // 2]


def _sorted(samples: Sequence[Picture]) -> list[Picture]:
    """Return the samples' values in order, pixel by pixel."""
    lanes = [sample.copy() for sample in samples]
    for low, high in _network(len(lanes)):
        smaller = cv2.min(lanes[low], lanes[high])
        lanes[high] = cv2.max(lanes[low], lanes[high])
        lanes[low] = smaller
    return lanes


def _spread(low: Picture, middle: Picture, high: Picture) -> Picture:
    """Return half the way from low to high, but at most twice the nearer one's way from the middle.

    Where a fly was held before some drops it is darker in a few samples only: that is no flicker.
    """
    half = cv2.convertScaleAbs(cv2.subtract(high, low), alpha=0.5)
    nearer = cv2.min(cv2.subtract(high, middle), cv2.subtract(middle, low))
    return np.asarray(cv2.min(half, cv2.add(nearer, nearer)))


def _network(n: int) -> Iterator[tuple[int, int]]:
    """Yield the compare-and-swap pairs of Batcher's odd-even merge sort for any ``n``.

    Knuth, The Art of Computer Programming vol. 3, 5.2.2, algorithm M (from memory).
    """
    p = 1
    while p < n:
        k = p
        while k >= 1:
            for j in range(k % p, n - k, 2 * k):
                for i in range(min(k, n - j - k)):
                    if (i + j) // (2 * p) == (i + j + k) // (2 * p):
                        yield i + j, i + j + k
            k //= 2
        p *= 2
