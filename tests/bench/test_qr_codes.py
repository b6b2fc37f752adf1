"""QR codes read from photos of labels: from a side, turned, blurred, many at once, and none."""

from __future__ import annotations

import numpy as np
import pytest
from photographed import photo, sheet

from flybench.bench.clip.qr_codes import qr_codes

TEXTS = (
    "reed-slip-12",
    "https://flies.example/N-014",
    "Äsche 14 28 cm/s",
    "bd-tu-sl-33",
    "reed-slip-12",
    "A1",
)


@pytest.mark.parametrize(
    ("tilt", "turn_deg", "blur"),
    [(0.0, 0.0, 0.0), (0.12, 0.0, 1.0), (0.0, 90.0, 1.0), (0.1, 37.0, 1.0), (0.08, -160.0, 1.5)],
)
def test_every_code_of_a_sheet_is_read_once(tilt: float, turn_deg: float, blur: float) -> None:
    found = qr_codes(photo(sheet(TEXTS, 3), tilt, turn_deg, blur))
    assert (sorted(found.texts), found.unread) == (sorted(TEXTS), 0)


def test_codes_come_row_by_row() -> None:
    assert qr_codes(photo(sheet(TEXTS, 3), 0.05, 3.0, 0.8)).texts == TEXTS


def test_a_code_that_fills_the_picture_is_read() -> None:
    assert qr_codes(photo(sheet(["reed-slip-12"], 1, 170), scale=6.0, blur=3.0)).texts == ("reed-slip-12",)


def test_codes_that_cannot_be_read_are_counted() -> None:
    flat = sheet(TEXTS[:2], 2)
    flat[60:110, 60:110] = 235  # a thumb of white over the middle of the first
    found = qr_codes(photo(flat, blur=0.5))
    assert found.texts == ("https://flies.example/N-014",)
    assert found.unread == 1


@pytest.mark.parametrize("shape", [(400, 500), (1, 1), (3, 4000)])
def test_where_there_is_none_nothing_is_read(shape: tuple[int, int]) -> None:
    noise = np.random.default_rng(3).integers(0, 255, shape).astype(np.uint8)
    assert qr_codes(noise).texts == ()


@pytest.mark.parametrize("scale", [0.36, 0.33, 0.3])
def test_small_codes_of_a_large_sheet_are_read(scale: float) -> None:
    """24 codes of 21 modules at 1.8 to 2.2 pixels a module; in the picture as it is some of them do not even show."""
    texts = [f"N-{number:03}" for number in range(24)]
    found = qr_codes(photo(sheet(texts, 4), scale=scale))
    assert (sorted(found.texts), found.unread) == (texts, 0)
