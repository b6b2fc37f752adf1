"""Flags: everything that makes a result doubtful, each with what it means and what to do next time."""

from __future__ import annotations

from flybench.bench.verdict.clock_flags import CLOCK_FLAGS
from flybench.flag import Flag, Weight

_N, _D, _R = Weight.NOTE, Weight.DOUBT, Weight.REFUSAL

FLAGS: dict[str, Flag] = {
    **CLOCK_FLAGS,
    # the clip
    "hand-held": Flag(
        _N,
        "The picture shakes; each frame was moved back by following what stands still in it.",
        "Prop the phone up or use a stand: measuring is then quicker and surer.",
    ),
    "steadiness-unknown": Flag(
        _D,
        "Nothing in the picture stands out that would show whether the phone moved, so a hand's sway may pass for the fly's.",
        "Prop the phone up, and let the water's surface, the table's edge or a strip of tape across the tank be seen.",
    ),
    "rolling-shutter": Flag(
        _D,
        "The phone lay on its side. Its sensor is then read along the fall, which shifts the speed by about one per cent.",
        "Hold the phone upright, or write its readout time in the sheet, under [camera]: readout.",
    ),
    "picture-on-its-side": Flag(
        _D,
        "The picture lies on its side: the card's arrow points across it. Down was taken from the card.",
        "Turn the clip so that up is up; hold the phone upright before you begin to film.",
    ),
    "turn-not-told": Flag(
        _N,
        "The clip was written again after filming, upright, so that nobody can tell how its sensor was read. It was taken to "
        "be read across the fall, as in a phone held upright, which leaves the speed as it is; a readout time is not used.",
        "You need not do anything if the phone was held upright. To be sure, send the clip straight from the phone.",
    ),
    # the scale
    "scale-doubt": Flag(
        _D,
        "The corners of the card do not lie as on a flat card.",
        "Flatten the card (laminate it), light it evenly and film it sharp.",
    ),
    "card-hidden": Flag(
        _D,
        "A good part of the card is hidden or cannot be read.",
        "Let the camera see both strips of the card over the whole fall.",
    ),
    "card-upside-down": Flag(
        _D,
        "The card stands upside down in the picture; it was read as it stands, and the flies fell against its arrow.",
        "Turn the card so that its arrow points up; if it does, the picture stands on its head: turn the clip.",
    ),
    "card-moved": Flag(
        _D,
        "The card or the phone jumped during the clip.",
        "Weigh the card down, prop the phone up, and do not touch the tank between drops.",
    ),
    "card-size": Flag(
        _N,
        "The printer changed the card's size; the bar that you measured was used to correct it.",
        "Print the card at 100 %, without fitting it to the page.",
    ),
    "card-size-odd": Flag(
        _D,
        "The bar that you measured is so far from 100 mm that the ruler was rather misread than the card misprinted.",
        "Measure the card's bar again; if it did come out so, print the card again at 100 %.",
    ),
    "card-size-unchecked": Flag(
        _D,
        "The sheet does not say how long the card's 100 mm bar came out, and printers change sizes.",
        "Measure the bar with a ruler and write its length in the sheet, under [scale]: bar.",
    ),
    "perspective": Flag(
        _D,
        "The camera looks at the card at an angle, so the scale changes along the fall.",
        "Stand the card upright, and hold the phone square to it, at half its height.",
    ),
    "squeezed-picture": Flag(
        _D,
        "The picture is squeezed: the squares of the card are not square. Rows were stretched to make them so.",
        "Use the clip as the phone made it, or export it without changing the shape of the picture.",
    ),
    "gap-unknown": Flag(
        _D,
        "The sheet does not say how far in front of the card the fly fell; it was taken to fall along the card.",
        "Measure from the card to where the fly falls and write it in the sheet, under [scale]: gap.",
    ),
    "distance-doubt": Flag(
        _D,
        "The distance of the camera in the sheet does not go with the picture: with it, the card would look different, or "
        "the lens would be none that a phone has. Where the card's perspective shows the distance, that was used.",
        "Measure from the lens to the front of the tank again, and look for a slip of the decimal point or the unit.",
    ),
    "distance-guessed": Flag(
        _N,
        "The sheet does not say how far away the camera was; the distance was guessed from the picture.",
        "Measure from the lens to the tank and write it in the sheet, under [camera]: distance.",
    ),
    # the tank
    "tank-unknown": Flag(
        _N,
        "The sheet does not say how large the tank is, so the speed in free water cannot be worked out.",
        "Write the tank's size in the sheet, under [tank]: width and depth, or diameter.",
    ),
    "narrow-tank": Flag(
        _D,
        "The fly is wide for this tank: the walls slow it, and the correction for them is uncertain.",
        "Use a wider tank: at least fifteen times as wide as the fly, better thirty times.",
    ),
    # the drops together
    "single-drop": Flag(
        _D,
        "Only one drop could be used, so how well drops repeat had to be assumed.",
        "Drop the fly three to six times in one clip.",
    ),
    "few-drops": Flag(_N, "Only two drops could be used.", "Drop the fly three to six times in one clip."),
    "drops-differ": Flag(
        _D,
        "The drops differ from each other by more than is usual for one fly.",
        "Soak the fly, let it go the same way each time, and let the water come to rest between drops.",
    ),
    "drifting-speed": Flag(
        _D,
        "In every drop the speed changes on the way down in the same way; half of that was put into the uncertainty.",
        "Use the card, upright and close behind the fall, level the phone with its middle, and look for a current.",
    ),
    "wetting": Flag(
        _D,
        "The fly became faster from drop to drop: air was still leaving its dressing.",
        "Soak the fly and squeeze it under water until its speed no longer grows, and use the later drops.",
    ),
    "by-the-clock": Flag(
        _D,
        "The fly was timed by hand; how fast a thumb is decides as much as how fast the fly is.",
        "Film the fly when a phone is at hand: flybench bench measure. That run then counts in place of this one.",
    ),
    "drag-too-small": Flag(
        _D,
        "By its weight and speed the fly would have less drag than its bare bead alone.",
        "Weigh the fly again, and check the size of its bead and its volume.",
    ),
    # one drop
    "held-pictures": Flag(
        _D,
        "Many pictures are shown twice, as programs do that slow a clip down or raise its frame rate; each was counted once. "
        "If the clip was slowed down, the fly sinks faster than this.",
        "Copy the clip from the phone again, unedited.",
    ),
    "not-terminal": Flag(
        _R,
        "The fly had not yet come near its full sink speed where the fall was seen, so no sink speed can be given.",
        "Use a taller column, or push the fly in so that it starts at about its sink speed.",
    ),
    "extrapolated": Flag(
        _D,
        "The fly came near its full sink speed but did not quite reach it; the rest was extrapolated.",
        "Use a taller column of water.",
    ),
    "left-out": Flag(
        _R,
        "You left this drop out, for the reason beside it.",
        "To count it again, take it off --without, or out of the sheet, under [drops]: without.",
    ),
    "too-few-frames": Flag(
        _R,
        "Too few frames show the fall to fit it.",
        "Film at a higher frame rate, or let the camera see more of the column.",
    ),
    "two-flies": Flag(
        _R,
        "Two flies fell at once and disturbed each other.",
        "Drop one fly at a time, and wait until it lies at rest. If there was only one, give it more light.",
    ),
    "poor-fit": Flag(
        _R,
        "The path is not that of a free fall: the fly was held, pushed or touched, or the scale changes on the way.",
        "Let the fly go cleanly, keep hands and thread out of its way, and use the card: it takes out perspective.",
    ),
    "stopped-on-the-way": Flag(
        _N,
        "The fly stopped half way down and fell on; its speed is that of the fall after the stop.",
        "Look for what it caught on: a thread, a plant, the card. If you lowered it by hand, all is well.",
    ),
    "uneven-speed": Flag(
        _D,
        "The fly sank faster and slower by turns.",
        "Let the water come to rest between drops; a fly that flutters needs more drops.",
    ),
    "against-the-card": Flag(
        _R,
        "The card's arrow points down in the picture, and what moves down there may be the fly being lifted out.",
        "If the card stood upright, turn the clip by half a turn; if the card stood upside down, turn it and film again.",
    ),
    "picture-on-its-head": Flag(
        _R,
        "What rises in the picture falls freely, and what moves down does not: the picture stands on its head.",
        "Turn the clip by half a turn, so that up is up.",
    ),
    "sideways": Flag(
        _R,
        "What was followed moved sideways more than down: no fall, or the picture lies on its side.",
        "Turn the clip so that up is up, and keep hands out of its way.",
    ),
    "tilted-path": Flag(
        _D,
        "The path slants by more than six degrees.",
        "Check that the fly is tied straight and that no current runs in the tank.",
    ),
    "spiralling-path": Flag(
        _D,
        "The fly swung from side to side or fell in a spiral.",
        "Look for an uneven wing or a bent hook, and take more drops.",
    ),
    "tumbling": Flag(
        _D,
        "The fly turned over as it fell.",
        "A fly that tumbles has another drag on each side: balance its dressing, or take more drops.",
    ),
    "near-wall": Flag(_D, "The fly fell close to a side wall.", "Let it go in the middle of the tank."),
    "stray-drop": Flag(
        _R,
        "The speed of this drop is more than a fifth away from that of the others, which agree; it was left out.",
        "Look at the drop in the overlay clip: was the fly held, touched, or was it another thing?",
    ),
    "no-common-speed": Flag(
        _R,
        "The drops differ by more than a fifth, and nothing tells which of them is right.",
        "Drop the fly five or six times more, let it go the same way each time, and keep hands out of its way.",
    ),
    "odd-drop": Flag(
        _D,
        "The speed of this drop is far from that of the others.",
        "Look at the drop in the overlay clip, and let the fly go the same way each time.",
    ),
}


def refuses(flags: list[str]) -> bool:
    """Tell whether any of the flags forbids using a drop."""
    return any(FLAGS[flag].weight is Weight.REFUSAL for flag in flags)


def doubts(flags: list[str]) -> bool:
    """Tell whether any of the flags is more than a note."""
    return any(FLAGS[flag].weight is not Weight.NOTE for flag in flags)
