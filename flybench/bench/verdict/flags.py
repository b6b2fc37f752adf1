"""Flags: everything that makes a result doubtful, each with what it means and what to do next time."""

from __future__ import annotations

from flybench.bench.verdict.clock_flags import CLOCK_FLAGS
from flybench.bench.verdict.set_up_flags import SET_UP_FLAGS
from flybench.flag import Flag, Weight

_N, _D, _R = Weight.NOTE, Weight.DOUBT, Weight.REFUSAL

FLAGS: dict[str, Flag] = {
    **CLOCK_FLAGS,
    **SET_UP_FLAGS,
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
        "In every drop the speed changes on the way down in the same way; what chance does not explain of that "
        "was put into the uncertainty, as nobody can tell at what speed it would end.",
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
    "blended-pictures": Flag(
        _D,
        "Many pictures are mixtures of two, as programs make them that slow a clip down or alter its frame rate. If the clip "
        "was slowed down, the fly sinks faster than this.",
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
    "shadow-or-fly": Flag(
        _D,
        "Two things fell in step: the fly, and its shadow or reflection. Which of them is the fly cannot be told; the "
        "difference of their speeds was put into the uncertainty.",
        "Light the tank from both sides, or put the bright ground farther behind it, so that no shadow falls beside the fly.",
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
    "another-clock": Flag(
        _D,
        "A drop that was left out differs from the others by a factor that slow motion makes: 2, 4 or 8, or any in a clip "
        "that may have been edited. Was a part of it slowed down? Nothing tells which of the drops play in real time.",
        "If it was another fly or a hand, leave it out by hand: --without, with its number and why. Else film all drops "
        "at one speed.",
    ),
    "two-clocks": Flag(
        _R,
        "A drop is several times as fast as the others. Was a part of the clip in slow motion? Nothing in it tells which of "
        "them play in real time.",
        "If it was another fly or a hand, leave it out by hand: --without, with its number and why. Else film all drops "
        "at one speed.",
    ),
    "repeated-drop": Flag(
        _R,
        "This drop shows the very same pictures as one before it; it counts once.",
        "Drop the fly again for each drop, and send the clip straight from the phone, without a loop.",
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
