"""How rough the bed is: words for its stones, or their size, as a roughness length with its doubt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.quantity import Measured, inside

ROUGHNESS_SHARE = 0.1
"""Roughness length z0 over D84 [-]: 0.117 from k_s = 3.5 D84 (Hey 1979, from memory) and z0 = k_s / 30; 0.094 from
1/sqrt(f) = 1.2 + 2.03 log10(R/D84), the rocky-bed law in White, Fluid Mechanics (eq. 10.15b)."""
LAW_DOUBT = 0.5
"""Standard uncertainty of ln z0 for a known D84 [-] (judgement: single grain sizes miss by a factor of two at the
worst, Ferguson 2007, Water Resour. Res. 43, W05427, abstract)."""
TOPS_SHARE = 0.2
"""Height of the stones' tops above the level where the speed goes to zero, over D84 [-]: the middle of 0.15 to 0.3,
as quoted in reviews (source not read)."""
FINEST_STONE, COARSEST_STONE = 1e-4, 1.0
"""Range of D84 [m]: from fine sand to boulders no rig is fished over (judgement)."""
SMOOTHEST, ROUGHEST = 1e-5, 0.1
"""Range of the roughness length z0 [m]: a tenth of the range of D84, as ROUGHNESS_SHARE has it."""

_STONES = {
    "sand": (0.001, 1.0),
    "gravel": (0.03, 0.5),
    "cobble": (0.11, 0.4),
    "boulder": (0.35, 0.4),
}
"""D84 [m] and standard uncertainty of its logarithm [-]: about the middle of the classes of ISO 14688-1 (sand to 2 mm,
gravel to 63 mm, cobbles to 200 mm, boulders above; from memory); sand may lie in ripples (judgement)."""


@dataclass(frozen=True)
class Bed:
    """A river bed.

    roughness, the length z0 [m], None where the bed is not known; doubt, standard uncertainty of its logarithm [-];
    stone, D84 [m]: 84 of 100 stones are smaller, None where it is not known; word, what the angler said of it.
    """

    roughness: float | None
    doubt: float
    stone: float | None
    word: str

    @property
    def tops(self) -> float:
        """Height of the stones' tops above the level where the water stands still [m]."""
        if self.stone is not None:
            return TOPS_SHARE * self.stone
        return 0.0 if self.roughness is None else self.roughness * TOPS_SHARE / ROUGHNESS_SHARE


UNKNOWN = Bed(None, 0.0, None, "unknown")
"""A bed nobody looked at: the 1/6 law is used."""


def bed_named(word: str) -> Bed:
    """Return the bed for sand, gravel, cobble or boulder: z0 = 0.1 D84, with the doubts of D84 and of that law [-].

    Raises BadValueError for another word.

    >>> round(bed_named("cobble").roughness, 4)
    0.011
    """
    if word not in _STONES:
        raise BadValueError("bed", f'there is no bed "{word}"', f"Choose one of {', '.join(_STONES)}.")
    stone, doubt = _STONES[word]
    return Bed(ROUGHNESS_SHARE * stone, math.hypot(doubt, LAW_DOUBT), stone, word)


def bed_of_stones(d84: Measured) -> Bed:
    """Return the bed whose stones are D84 [m] (84 of 100 are smaller): z0 = 0.1 D84.

    Range: 0.1 mm to 1 m; BadValueError outside.
    """
    cure = "Give the size that 84 of 100 stones are smaller than."
    inside("d84", d84.value, FINEST_STONE, COARSEST_STONE, "m", cure)
    doubt = math.hypot(d84.standard_uncertainty / d84.value, LAW_DOUBT)
    return Bed(ROUGHNESS_SHARE * d84.value, doubt, d84.value, "d84")


def bed_of_roughness(z0: Measured) -> Bed:
    """Return the bed of a roughness length z0 [m]. Range: 0.01 mm to 0.1 m; BadValueError outside."""
    inside(
        "z0",
        z0.value,
        SMOOTHEST,
        ROUGHEST,
        "m",
        "Give the height at which the logarithmic law comes to zero.",
    )
    return Bed(z0.value, z0.standard_uncertainty / z0.value, None, "z0")
