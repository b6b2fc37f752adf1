"""The still with a grid: lines where they say they are, numbers outside the picture."""

from __future__ import annotations

import numpy as np

from flybench.bench.overlay.pixel_grid import COARSE, FINE, with_grid


def test_lines_stand_on_their_pixels() -> None:
    grey = np.full((210, 310), 90, dtype=np.uint8)
    drawn = with_grid(grey)
    margin = (drawn.shape[0] - grey.shape[0]) // 2
    inside = drawn[margin : margin + 210, margin : margin + 310].astype(int)
    colour = np.abs(inside[:, :, 2] - inside[:, :, 0])
    row, column = colour[7], colour[:, 7]
    for line, longest in ((row, 310), (column, 210)):
        assert [place for place in range(longest) if line[place] > 0] == list(range(0, longest, FINE))
        strong = [place for place in range(longest) if line[place] > 1.5 * line[FINE]]
        assert strong == list(range(0, longest, COARSE))
    assert (drawn[:margin] < 255).any()
    assert (grey == 90).all()
