"""How fast the water runs at each depth, for many rigs at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from flybench.quantity import Floats

KARMAN = 0.41
"""Von Karman's constant [-], as measured in open channels (Nezu & Nakagawa 1993, from memory)."""


class Profile(Protocol):
    """Speed of the water over the depth, one column a rig."""

    def at(self, depth: Floats, out: Floats) -> None:
        """Fill ``out`` with the speed [m/s] ``depth`` [m] below the surface, 0 under the bed; both (..., rigs)."""

    def part(self, columns: slice) -> Profile:
        """Return the profile of some of the rigs."""


@dataclass(frozen=True)
class LogProfile:
    """u = u_s ln(1 + y / z0) / ln(1 + h / z0), y above the bed; arrays of one value a rig.

    surface_speed u_s [m/s]; depth h [m]; roughness z0 [m].
    """

    surface_speed: Floats
    depth: Floats
    roughness: Floats

    def at(self, depth: Floats, out: Floats) -> None:
        """Fill ``out`` with the speed [m/s] ``depth`` [m] below the surface."""
        np.subtract(self.depth, depth, out=out)
        np.maximum(out, 0.0, out=out)
        out /= self.roughness
        out += 1.0
        np.log(out, out=out)
        out *= self.surface_speed / np.log1p(self.depth / self.roughness)

    def part(self, columns: slice) -> LogProfile:
        """Return the profile of some of the rigs."""
        return LogProfile(self.surface_speed[columns], self.depth[columns], self.roughness[columns])


@dataclass(frozen=True)
class PowerProfile:
    """u = u_s (y / h)^(1/m), y above the bed; arrays of one value a rig.

    surface_speed u_s [m/s]; depth h [m]; steepness m [-].
    """

    surface_speed: Floats
    depth: Floats
    steepness: Floats

    def at(self, depth: Floats, out: Floats) -> None:
        """Fill ``out`` with the speed [m/s] ``depth`` [m] below the surface."""
        np.divide(depth, self.depth, out=out)
        np.subtract(1.0, out, out=out)
        np.maximum(out, 0.0, out=out)
        np.power(out, 1 / self.steepness, out=out)
        out *= self.surface_speed

    def part(self, columns: slice) -> PowerProfile:
        """Return the profile of some of the rigs."""
        return PowerProfile(self.surface_speed[columns], self.depth[columns], self.steepness[columns])
