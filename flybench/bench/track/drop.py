"""One fall as it was seen: the frames that show it, where the thing was in them, and what it looked like."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Drop:
    """One fall: real times [s] and places (n, 2) [m] of the frames that show it freely falling."""

    rows: NDArray[np.int64]
    times: Floats
    places: Floats
    contrast: float
    area: float
    length: float
    breadth: float
    """Longer and shorter extent of what was seen [m]."""
    leans: Floats
    """Angle of the longer axis from the vertical in each frame [rad]."""
    landed: bool
    """True where it was seen to stop at the end."""
    stopped: bool = False
    """True where it had fallen some way before, and stopped."""
    together: bool = False
    """True where another fly fell at the same time."""
    held: float = 0.0
    """Share of its frames that only showed the picture before once more, and are left out [-]."""

    blended: bool = False
    """True where its pictures are mixtures of two by turns."""
    skipped: int = 0
    """Pictures that its steps show to be left out, although its times are even [-]."""
    ground: float = 255.0
    """Usual brightness of the background behind it [grey levels]."""
    shadow_doubt: float = 0.0
    """Difference of speed to what fell in step with it and may be the fly in its place, over its speed [-]; 0: told."""

    @property
    def strength(self) -> float:
        """Return how plainly it shows: contrast times the root of its area."""
        return abs(self.contrast) * float(np.sqrt(self.area))
