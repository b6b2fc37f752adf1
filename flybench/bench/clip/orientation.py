"""Stored and upright pictures: phones store the sensor's rows and a turn to apply when showing them.

Frames are worked on as stored (turning every one would cost as much as finding the fly); positions
are turned instead. Pixel centres lie at whole numbers; x is to the right, y downwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_CROOKED = 0.02
"""Furthest from a whole quarter turn that a display matrix may be, in quarter turns [-]: 1.8 degrees; phones write whole
ones, and its 16-bit fractions round by far less (judgement)."""
_LONG_SIDES = (640, 848, 854, 960, 1280, 1920, 2560, 3840)
"""Long sides of the pictures that phones film, and of those that messengers make of them [px] (common practice,
no source)."""
_SHAPES = (9 / 16, 3 / 4)
"""Short over long side of a phone's whole picture [-] (common practice, no source)."""
_ROUNDED = 2.0
"""How far sides may be off the shape for being rounded to even numbers [px]."""


@dataclass(frozen=True)
class Orientation:
    """Quarter turns (counter-clockwise) and mirroring that make the stored picture upright."""

    rows: int
    columns: int
    quarter_turns: int = 0
    mirrored: bool = False

    @property
    def rotation(self) -> int:
        """Return the turn in degrees counter-clockwise: -90, 0, 90 or 180."""
        return {0: 0, 1: 90, 2: 180, 3: -90}[self.quarter_turns % 4]

    @property
    def width(self) -> int:
        """Return the width of the upright picture [px]."""
        return self.rows if self.quarter_turns % 2 else self.columns

    @property
    def height(self) -> int:
        """Return the height of the upright picture [px]."""
        return self.columns if self.quarter_turns % 2 else self.rows

    @property
    def turn_is_baked_in(self) -> bool:
        """Tell whether the picture is stored upright and taller than wide, as no phone does by itself.

        Phones read rows along the long side and store them so, with a turn to apply (common practice, no source); a
        program that writes the clip again applies the turn and drops the word of it. The stored rows are then not the
        sensor's; an upright phone reads them across the fall.
        """
        return self.quarter_turns % 4 == 0 and not self.mirrored and self.rows > self.columns

    @property
    def may_be_edited(self) -> bool:
        """Tell whether a program may have written the picture again: there is no quarter turn to apply.

        Phones held upright leave one, editors apply it (common practice, no source).
        """
        return self.quarter_turns % 2 == 0

    @property
    def rows_run_along_fall(self) -> bool:
        """Tell whether the sensor's rows are read out up or down the upright picture (phone on its side)."""
        return self.quarter_turns % 2 == 0 and not self.turn_is_baked_in

    @property
    def is_whole(self) -> bool:
        """Tell whether the picture has the size of one that a phone films, so that no editor cut or squeezed it.

        A part cut out of a lying picture is as tall as that is, and so is not among them.
        """
        short, long = sorted((self.rows, self.columns))
        return long in _LONG_SIDES and min(abs(short - shape * long) for shape in _SHAPES) <= _ROUNDED

    def picture(self, stored: NDArray[Any]) -> NDArray[Any]:
        """Return the upright picture (a contiguous copy) of a stored one."""
        turned = np.rot90(stored, k=self.quarter_turns)
        return np.ascontiguousarray(turned[:, ::-1] if self.mirrored else turned)

    def upright(self, stored_xy: Floats) -> Floats:
        """Turn stored positions (n, 2) [px] into upright ones."""
        x, y = stored_xy[:, 0], stored_xy[:, 1]
        last_x, last_y = self.columns - 1.0, self.rows - 1.0
        turned = {
            0: (x, y),
            1: (y, last_x - x),
            2: (last_x - x, last_y - y),
            3: (last_y - y, x),
        }[self.quarter_turns % 4]
        across = self.width - 1.0 - turned[0] if self.mirrored else turned[0]
        return np.stack([across, turned[1]], axis=1)

    def stored(self, upright_xy: Floats) -> Floats:
        """Turn upright positions (n, 2) [px] back into stored ones."""
        x, y = upright_xy[:, 0], upright_xy[:, 1]
        x = self.width - 1.0 - x if self.mirrored else x
        last_x, last_y = self.columns - 1.0, self.rows - 1.0
        turned = {
            0: (x, y),
            1: (last_x - y, x),
            2: (last_x - x, last_y - y),
            3: (y, last_y - x),
        }[self.quarter_turns % 4]
        return np.stack(turned, axis=1)


def orientation_of(picture: Any) -> Orientation:
    """Read the display matrix of a decoded PyAV picture; anything but quarter turns is taken as none."""
    data = picture.side_data.get("DISPLAYMATRIX")
    if data is None:
        return Orientation(picture.height, picture.width)
    matrix = np.frombuffer(bytes(data), "<i4").reshape(3, 3)[:2, :2] / 65536.0
    mirrored = bool(np.linalg.det(matrix) < 0)
    if mirrored:
        matrix = matrix @ np.diag([-1.0, 1.0])
    turns = float(np.degrees(np.arctan2(matrix[1, 0], matrix[0, 0]))) / 90.0
    if abs(turns - round(turns)) > _CROOKED:
        return Orientation(picture.height, picture.width)
    return Orientation(picture.height, picture.width, round(turns) % 4, mirrored)
