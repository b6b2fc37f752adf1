"""What sinking knows of a fly: what it is tied from, the usual dressing of its style, and how it fell in one water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.sinking.weight.submerged import SubmergedWeight

STYLES = ("slick", "ribbed", "dubbed", "hackled", "soft", "bulky")
"""Styles of body, from the least drag to the most by eye (common practice, no source)."""
_USUAL: Final = {
    "slick": (0.0, 0.0),
    "ribbed": (0.0, 3e-6),
    "dubbed": (0.0, 12e-6),
    "hackled": (4.0, 8e-6),
    "soft": (2.5, 8e-6),
    "bulky": (0.0, 30e-6),
}
"""Style: turns of hackle, loose dressing [kg] on a hook with the gape below: common practice, no source."""
_USUAL_GAPE = 4.2e-3
"""Gape of the hook those amounts are for [m]: a usual nymph hook of size 14 (from memory)."""


@dataclass(frozen=True)
class Build:
    """What a fly is tied from, as far as its drag goes.

    code, of the variant, or a text for one not in the catalog; style, one of ``STYLES``; bead_diameter [m],
    None without a bead; hook_gape and hook_shank [m]; hackle_turns, turns of hackle, collar and wing together
    (a piece of feather counts as one turn); loose_mass [kg], dry dressing that stands off: dubbing, tail, wing
    and collar by mass; coated, whether resin or varnish covers the body; assumed, names of what the recipe does
    not say and the style's usual amount was taken for.
    """

    code: str
    pattern: str
    style: str
    bead_diameter: float | None
    hook_gape: float
    hook_shank: float
    hackle_turns: float
    loose_mass: float
    coated: bool
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class MeasuredFly:
    """One fly in one water: all accepted runs of it at one temperature, pooled.

    speed, in free water [m/s], own and shared, the two parts of its standard uncertainty [m/s], of which shared
    is one error for everything measured in one set-up; temperature [K]; salinity [kg/kg]; weight, None where not
    known; drops, used ones.
    """

    fly: str
    build: Build
    weight: SubmergedWeight | None
    speed: float
    own: float
    shared: float
    temperature: float
    salinity: float
    runs: int
    drops: int

    @property
    def water(self) -> Water:
        """The water it fell in; raises BadValueError outside the range of its formulas."""
        return Water(self.temperature, self.salinity)


def usual_dressing(style: str, hook_gape: float) -> tuple[float, float]:
    """Return turns of hackle and mass of loose dressing [kg] usual for a style on a hook of this gape [m].

    The mass goes with the cube of the gape, as the fly does. Common practice, no source.
    Parameters: style, one of ``STYLES``; hook_gape [m]. Returns: turns [-] and mass [kg].
    Raises BadValueError for an unknown style. Range: none is checked.

    >>> usual_dressing("soft", 4.2e-3)
    (2.5, 8e-06)
    """
    if style not in STYLES:
        raise BadValueError("style", f'there is no style "{style}"', f"Use one of {', '.join(STYLES)}.")
    turns, mass = _USUAL[style]
    return turns, mass * (hook_gape / _USUAL_GAPE) ** 3
