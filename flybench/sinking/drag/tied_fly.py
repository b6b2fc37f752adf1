"""What sinking knows of a fly: what it is tied from, and how it fell in one water."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.sinking.weight.submerged import SubmergedWeight

STYLES = ("slick", "ribbed", "dubbed", "hackled", "soft", "bulky")
"""Styles of body, from the least drag to the most by eye."""


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
class Sunk:
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
