"""Flags: everything that makes a result doubtful, each with what it means and what to do next time."""

from __future__ import annotations

from flybench.flag import Flag, Weight

_N, _D, _R = Weight.NOTE, Weight.DOUBT, Weight.REFUSAL

FLAGS: dict[str, Flag] = {
    # the clip
    "clip-damaged": Flag(
        _D, "Part of the clip does not decode, or it breaks off.", "Copy it from the phone again, unedited."
    ),
    "frames-missing": Flag(
        _N,
        "The camera left frames out.",
        "Nothing needed: each frame's own time is used. Close other apps when filming.",
    ),
    "uneven-clock": Flag(
        _D, "The times of the frames are uneven.", "Film at a fixed frame rate in good light."
    ),
    "slow-motion-guessed": Flag(
        _D,
        "The capture rate does not fit the clip's own rate by a whole number.",
        "Write the true rate in the sheet: camera.capture_rate.",
    ),
    "hand-held": Flag(
        _N,
        "The picture shakes; every frame was registered to the still parts.",
        "Prop the phone or use a stand: it saves time and doubt.",
    ),
    "rolling-shutter": Flag(
        _D,
        "The phone lay on its side: its sensor is read out along the fall, which shifts the speed by a percent or so.",
        "Hold the phone upright, or give camera.readout.",
    ),
    # the scale
    "scale-doubt": Flag(
        _D,
        "The card's corners do not fit one flat, square card.",
        "Flatten the card (laminate it), light it evenly, and film it sharp.",
    ),
    "card-hidden": Flag(
        _D,
        "A good part of the card is hidden or not readable.",
        "Show both strips of the card over the whole fall.",
    ),
    "card-upside-down": Flag(
        _N, "The card stands upside down; it was used as it stands.", "Turn the arrow up."
    ),
    "card-moved": Flag(
        _D,
        "The card or the phone jumped during the clip.",
        "Weigh the card down, prop the phone, and do not touch the tank between drops.",
    ),
    "card-size": Flag(
        _N,
        "The printer scaled the card; the measured bar was used instead.",
        "Print at 100 %, without fitting to the page.",
    ),
    "card-size-unchecked": Flag(
        _D,
        "Nobody measured the card's 100 mm bar, and printers scale pages.",
        "Measure the bar with a ruler and write it in the sheet: scale.bar.",
    ),
    "perspective": Flag(
        _D,
        "The camera looks at the card at an angle, so the scale changes along the fall.",
        "Stand the card upright and hold the phone square to it, at mid-height.",
    ),
    "distance-guessed": Flag(
        _N,
        "The camera distance is not in the sheet and was guessed from the picture.",
        "Measure lens to tank and write it in the sheet: camera.distance.",
    ),
    # the tank
    "tank-unknown": Flag(
        _N,
        "The tank's size is not in the sheet, so the speed in free water cannot be told.",
        "Write tank.width and tank.depth, or tank.diameter.",
    ),
    "narrow-tank": Flag(
        _D,
        "The fly is wide for this tank; its walls slow it and the correction is uncertain.",
        "Use a tank at least thirty times as wide as the fly.",
    ),
    # the drops together
    "single-drop": Flag(
        _D,
        "There is only one good drop, so its repeatability had to be assumed.",
        "Drop the fly three to six times in one clip.",
    ),
    "few-drops": Flag(_N, "There are only two good drops.", "Drop the fly three to six times in one clip."),
    "drops-differ": Flag(
        _D,
        "The drops differ by more than a fly usually does.",
        "Soak the fly, release it the same way each time, and let the water come to rest between drops.",
    ),
    "wetting": Flag(
        _D,
        "The fly got faster from drop to drop: air was still leaving the dressing.",
        "Soak it and squeeze it under water until its speed settles; use the later drops.",
    ),
    "drag-too-small": Flag(
        _D,
        "Weight and speed together mean less drag than the bare bead alone has.",
        "Weigh the fly again, and check bead size and volume.",
    ),
    # one drop
    "not-terminal": Flag(
        _R,
        "The fall had not come near terminal speed, so this is no sink speed.",
        "Use a taller column, or plunge the fly in so that it starts near its sink speed.",
    ),
    "extrapolated": Flag(
        _D,
        "The fall came only near terminal speed; the rest of the way is the fit's.",
        "Use a taller column.",
    ),
    "too-few-frames": Flag(
        _R, "Too few frames show the fall.", "Film at a higher frame rate, or show more of the column."
    ),
    "two-flies": Flag(
        _R,
        "Two flies fell at once and disturb each other.",
        "Drop one fly at a time and wait until it rests.",
    ),
    "poor-fit": Flag(
        _R,
        "The track does not follow a free fall: held, pushed, or touched on the way.",
        "Let go cleanly and keep hands and thread away from the water below.",
    ),
    "tilted-path": Flag(
        _D,
        "The path runs at a slant of more than six degrees.",
        "Check that the fly hangs straight in its dressing and that no current runs in the tank.",
    ),
    "spiralling-path": Flag(
        _D, "The path swings or spirals.", "Look at the fly for an uneven wing or bent hook; take more drops."
    ),
    "tumbling": Flag(
        _D,
        "The fly turned over as it fell.",
        "A fly that tumbles has no one drag; balance its dressing, or take more drops.",
    ),
    "near-wall": Flag(_D, "The fly fell close to a side wall.", "Release it in the middle of the tank."),
    "odd-drop": Flag(
        _D,
        "This drop is far from the others.",
        "Look at it in the overlay clip; release the fly the same way each time.",
    ),
}


def refuses(flags: list[str]) -> bool:
    """Tell whether any of the flags forbids using a drop."""
    return any(FLAGS[flag].weight is Weight.REFUSAL for flag in flags)


def doubts(flags: list[str]) -> bool:
    """Tell whether any of the flags is more than a note."""
    return any(FLAGS[flag].weight is not Weight.NOTE for flag in flags)
