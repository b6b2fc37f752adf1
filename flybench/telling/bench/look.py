"""A first look at the tank in words and as machine form: ready or not, what was seen, what to change first."""

from __future__ import annotations

from typing import Any

from flybench.bench.clip.clock import Source
from flybench.bench.preview.preview import DROPS, SPEED, Change, Preview
from flybench.quantity import COVERAGE_FACTOR
from flybench.telling.table import paragraph
from flybench.telling.wording import counted
from flybench.version import __version__

CURES = {
    Change.TOO_DARK: "The picture is nearly black. Bring much more light, from the side and away from the water, "
    "and look again.",
    Change.NO_CARD: "Put the printed card into the water, both strips in the picture, sharp and evenly lit: it was not "
    "found. Without the card, two points a known distance apart give the scale.",
    Change.UPSIDE_DOWN: "The card's arrow points down in the picture. Turn the card if it stands on its head; else the phone "
    "was held upside down, and every fall would be taken for a rise.",
    Change.ON_ITS_SIDE: "The card's arrow points to the side. Hold the phone upright and film again.",
    Change.UNSHARP: "The card is not sharp. Touch the card on the screen to focus and hold it there, and clean the glass.",
    Change.CARD_HIDDEN: "Not the whole card can be read. Let nothing hang before it, and no light glare on it.",
    Change.ASKEW: "The card stands askew in the picture. Straighten the phone, or the card.",
    Change.STEEP: "The phone looks at the card at an angle. Put it at half the card's height, facing the tank squarely.",
    Change.TOO_SMALL: "The card is small in the picture. Come nearer, until it takes up most of the picture's height.",
    Change.DARK: "The picture is dark. Bring more light, from the side and away from the water.",
    Change.BURNT: "The paper is burnt out to white. Less light, or a shorter exposure.",
    Change.FLAT: "Ink and paper hardly differ. Keep stray light off the front of the tank.",
    Change.UNEVEN: "One end of the card is much darker than the other. Light it evenly.",
    Change.NOISY: "The picture is grainy. Bring more light.",
    Change.SLOW_RATE: "A fly smears over half its width in one frame. Film at 60 frames a second or more.",
}
"""What to do about each, in the order of importance."""
_SAFETY = "Keep lamps on mains current away from the water."


def verdict_line(seen: Preview) -> str:
    """Return whether the tank is ready to film, in one sentence."""
    if not seen.changes:
        return "READY: nothing needs to be changed before you film."
    count = counted(len(seen.changes), "thing", "things")
    return f"NOT READY: {count} to change before you film; the first matters most."


def lines(seen: Preview) -> list[str]:
    """Return the verdict, what was seen, and what to change, the most important first."""
    rows = _seen(seen)
    wide = max(len(name) for name, _ in rows)
    hung = [paragraph(f"  {name:<{wide}}  {value}", "", " " * (wide + 4)) for name, value in rows]
    found = [paragraph(verdict_line(seen)), *hung]
    if seen.changes:
        found += ["To change:"]
        found += [
            paragraph(f"{place}. {CURES[one]}", "  ", "     ") for place, one in enumerate(seen.changes, 1)
        ]
    if {Change.TOO_DARK, Change.DARK, Change.NOISY, Change.UNEVEN} & set(seen.changes):
        found.append(_SAFETY)
    return found


def _seen(seen: Preview) -> list[tuple[str, str]]:
    """Return what was seen, line by line: upright, card, scale, tilt, sharpness, light, rate, share, precision."""
    return [
        (
            "picture",
            f"{seen.width} x {seen.height} px, {'upright' if seen.height >= seen.width else 'lying'}",
        ),
        *_card_lines(seen),
        ("frame rate", _rate(seen)),
        *([("card fills", f"{100 * seen.card.fills:.0f} % of the picture's height")] if seen.card else []),
        ("to expect", _precision(seen)),
    ]


def _card_lines(seen: Preview) -> list[tuple[str, str]]:
    if seen.card is None or seen.light is None:
        return [("card", "not found")]
    card, light = seen.card, seen.light
    way = "upside down" if card.upside_down else "on its side" if card.on_its_side else "the right way up"
    tilt = card.geometry.calibration.camera.tilt_degrees
    about = "about " if card.geometry.guessed_distance else ""
    blur = "not readable" if light.blur_px is None else f"edges smeared by {light.blur_px:.1f} px"
    noise = "" if light.noise is None else f", grain {light.noise:.1f}"
    return [
        ("card", f"{100 * card.share:.0f} % of its corners read, {way}"),
        ("scale", f"{1000 * card.geometry.metres_per_px:.3f} mm a pixel, squares of {card.square_px:.0f} px"),
        (
            "tilt",
            f"{about}{tilt:.1f}° to the card, which is turned by {abs(card.askew_deg):.1f}° in the picture",
        ),
        ("sharpness", blur),
        ("light", f"paper {light.white:.0f}, ink {light.black:.0f} of 255{noise}"),
    ]


def _rate(seen: Preview) -> str:
    clock = seen.clock
    if clock is None:
        return "unknown: this is a photo"
    if clock.stretch > 1:
        return f"{clock.capture_rate:.0f} a second, stored as slow motion ({clock.stretch:.3g} times)"
    doubt = "; for slow motion give --capture-rate" if clock.source is Source.UNTOLD else ""
    return f"{clock.capture_rate:.0f} a second, taken as real time{doubt}"


def _precision(seen: Preview) -> str:
    if seen.precision is None:
        return "cannot be told from this picture"
    return f"about ±{100 * seen.precision:.1f} % for {DROPS} drops at {100 * SPEED:.0f} cm/s (k = 2)"


def record(seen: Preview) -> dict[str, Any]:
    """Return the machine form, SI units; null where something was not seen."""
    card, light = seen.card, seen.light
    return {
        "flybench": __version__,
        "name": seen.name,
        "width": seen.width,
        "height": seen.height,
        "ready": not seen.changes,
        "card": None
        if card is None
        else {
            "corner_share": card.share,
            "upside_down": card.upside_down,
            "metres_per_px": card.geometry.metres_per_px,
            "square_px": card.square_px,
            "tilt_deg": card.geometry.calibration.camera.tilt_degrees,
            "roll_deg": card.roll_deg,
            "height_share": card.fills,
        },
        "light": None
        if light is None
        else {
            "paper": light.white,
            "ink": light.black,
            "evenness": light.evenness,
            "clipped_share": light.clipped,
            "noise": light.noise,
            "blur_px": light.blur_px,
        },
        "capture_rate_hz": seen.clock.capture_rate if seen.clock else None,
        "stretch": seen.clock.stretch if seen.clock else None,
        "relative_expanded_uncertainty": seen.precision,
        "coverage_factor": COVERAGE_FACTOR,
        "changes": [{"name": str(one), "cure": CURES[one]} for one in seen.changes],
    }
