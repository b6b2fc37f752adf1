"""Usual dressings by style, and what a turn of hackle or a milligram of dubbing adds to the drag, before any fly
was measured: judgement, to be overruled by the shop's own flies."""

from __future__ import annotations

from typing import Final

from flybench.errors import BadValueError
from flybench.sinking.drag.tied_fly import STYLES

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

BODY = 0.15
"""Drag area of hook, thread and tail over the gape squared: a wire of 0.13 gape across one gape, coefficient of a
cylinder about 1.2 (judgement)."""
HACKLE_TURN = 0.2
"""Drag area of one turn of hackle over the gape squared: some 15 fibres of 1.3 gape, 0.05 mm thick, coefficient of
a cylinder at Reynolds number 15 about 2.4, bent back to two fifths (judgement)."""
LOOSE = 0.6
"""Drag area of loose dressing over the cross-section it fills at 100 kg/m3 along the shank (judgement)."""
LOOSE_PACKING = 100.0
"""Mass of dry dubbing over the room it takes [kg/m3]: common practice, no source."""


def usual_dressing(style: str, hook_gape: float) -> tuple[float, float]:
    """Return turns of hackle and mass of loose dressing [kg] usual for a style on a hook of this gape [m].

    The mass goes with the cube of the gape, as the fly does. Common practice, no source.
    Raises BadValueError for an unknown style.

    >>> usual_dressing("soft", 4.2e-3)
    (2.5, 8e-06)
    """
    if style not in STYLES:
        raise BadValueError("style", f'"{style}" is not known', f"Use one of {', '.join(STYLES)}.")
    turns, mass = _USUAL[style]
    return turns, mass * (hook_gape / _USUAL_GAPE) ** 3
