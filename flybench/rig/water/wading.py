"""Water in which it is hard to stand: a caution, never a permission."""

from __future__ import annotations

from flybench.rig.water.current import Current

HARD_PRODUCT = 0.4
"""Depth times speed from which people are not to wade [m2/s]: the design limit for people of Australian practice before
2010 (Cox 2011, slides read). Adults lost their footing in flumes at 0.7 to 2.1 (Abt, Wittler, Taylor & Love 1989) and at
0.64 to 1.29 (Karvonen et al. 2000), as quoted; each range was read in one source only."""
HARD_DEPTH, HARD_SPEED = 1.2, 0.8
"""Depth of still water [m] and speed of shallow water [m/s] from which wading is difficult and dangerous for adults (the
same slides)."""


def hard_to_wade(current: Current) -> bool:
    """Tell whether water is so deep, so fast, or so much of both that adults may lose their footing.

    The surface speed stands for the mean, which is slower: the rule errs to caution. Depth [m] and speed [m/s] count at the
    ends of what was typed, k = 1.
    """
    deep = current.depth.value + current.depth.standard_uncertainty
    fast = current.surface_speed.value + current.surface_speed.standard_uncertainty
    return deep * fast >= HARD_PRODUCT or deep >= HARD_DEPTH or fast >= HARD_SPEED
