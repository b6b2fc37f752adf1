"""The tackle of an answer about a river in words and as machine form, and what is not worked out of it."""

from __future__ import annotations

from typing import Any

from flybench.rig.tackle.leader import Hold, Tackle
from flybench.telling.table import paragraph

_AT_THE_SURFACE = {
    Hold.FLOATING: "which drifts along at the surface",
    Hold.STILL: "which is held still at the surface",
}
PLANE = (
    "Worked out as seen from the side, along the current: where the line lies across faster and slower water, the current "
    "pulls it sideways too, and the flies run shallower than this."
)
"""What two dimensions leave out, and which way that errs."""
NO_WIND = (
    "The part of the line in the air has its weight, but no wind blows on it: 3 m/s of wind pulls a metre of it by 0.1 "
    "to 0.2 g, about as much as a small fly weighs in water."
)
"""What is left out of the air (2.1 and 0.9 mN/m on 0.30 and 0.13 mm, a cylinder's drag coefficient being 1.3)."""


def tackle_words(tackle: Tackle) -> str:
    """Return line and hold in words, with the length that was taken."""
    line = f"{tackle.diameter * 1e3:.3g} mm {tackle.material.value}"
    if tackle.hold is Hold.TIGHT:
        return (
            f"{line}, {tackle.length:.2f} m from the rod's tip to the point; the tip is {tackle.tip:.2f} m above the water, "
            f"led at {tackle.lead_speed:.2f} m/s"
        )
    held = _AT_THE_SURFACE.get(tackle.hold, f"led at {tackle.lead_speed or 0.0:.2f} m/s")
    return f"{line}, {tackle.length:.2f} m in the water, {held}"


def tackle_lines(tackle: Tackle) -> list[str]:
    """Return the line and how it is held, and what is not worked out of it."""
    notes = [PLANE, NO_WIND] if tackle.hold is Hold.TIGHT else [PLANE]
    return [paragraph(text, hanging="  ") for text in (f"Line: {tackle_words(tackle)}.", *notes)]


def tackle_record(tackle: Tackle) -> dict[str, Any]:
    """Return the machine form of line and hold, SI units; null for what the hold has not."""
    return {
        "leader_length_m": tackle.length,
        "leader_diameter_m": tackle.diameter,
        "hold": tackle.hold.value,
        "lead_speed_m_s": tackle.lead_speed,
        "tip_height_m": tackle.tip_height,
    }
