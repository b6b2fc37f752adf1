"""Flags of the clip, the scale and the tank: each with what it means and what to do next time."""

from __future__ import annotations

from flybench.flag import Flag, Weight

_N, _D, _R = Weight.NOTE, Weight.DOUBT, Weight.REFUSAL

SET_UP_FLAGS: dict[str, Flag] = {
    # the clip
    "hand-held": Flag(
        _N,
        "The picture shakes; each frame was moved back by following what stands still in it.",
        "Prop the phone up or use a stand: measuring is then quicker and surer.",
    ),
    "steadiness-unknown": Flag(
        _D,
        "Nothing in the picture shows whether the phone moved: the ground is bare, the picture is too small, or what stands "
        "still may belong to the picture and not to the room, such as a date or dirt on the lens. A hand's sway may pass for "
        "the fly's.",
        "Prop the phone up, have it write nothing into the picture, "
        "and let the water's surface, the table's edge or a strip of tape across the tank be seen.",
    ),
    "size-unwatched": Flag(
        _D,
        "The picture moved, and there is too little in it to show whether the phone came nearer as well, or the picture was "
        "zoomed; that is carried in the uncertainty.",
        "Prop the phone up, and let both the water's surface and the table's edge be seen, or stand the card in the tank.",
    ),
    "picture-changed": Flag(
        _R,
        "The clip shows another picture in one part than in another, or the same one larger or smaller: the phone was moved "
        "nearer, the picture was zoomed, or two clips were joined. The scale holds for one part only.",
        "Cut the clip where the picture changes, and measure each part by itself. Read typed points off the first picture of "
        "the part.",
    ),
    "picture-left": Flag(
        _N,
        "The phone was moved at the start or the end of the clip, or the picture changed there. What was seen then, and "
        "shortly before or after, is left out, and so is any drop that fell meanwhile.",
        "Begin to film when the phone stands, and stop before you take it, once the last fly lies at rest.",
    ),
    "picture-hidden": Flag(
        _N,
        "For a while something else filled most of the picture, which then came back as it was. What was seen meanwhile is "
        "left out, and any drop that fell then.",
        "Keep everybody out of the picture, behind the tank too, until the last fly lies at rest.",
    ),
    "picture-breathes": Flag(
        _D,
        "The picture became larger or smaller for a moment and came back, as a phone's focus makes it, while this drop fell "
        "or in the first picture, off which points are read; as much is carried in the uncertainty.",
        "Hold a finger on the picture until the focus is locked, before you film.",
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
        "be read across the fall, as in a phone held upright, which leaves the speed as it is; a readout time is not used. "
        "Where its size is none that phones film, a part may have been cut out of a lying picture, which is read along the "
        "fall; that is carried in the uncertainty.",
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
        "The card or the phone jumped during the clip; falls that were on the way then, or before it, may be missing.",
        "Weigh the card down, prop the phone up, and do not touch the tank between drops.",
    ),
    "card-in-two-places": Flag(
        _R,
        "The card is larger in one part of the clip than in another: the card or the phone was moved nearer or farther, or "
        "two clips were joined. One gap and one distance cannot hold for both parts.",
        "Cut the clip where the card was moved, and measure each part by itself, with the gap and the distance that it was "
        "filmed with.",
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
    "card-size-unusual": Flag(
        _D,
        "The bar that you measured is further from 100 mm than printers usually make it, so the ruler may have been misread; "
        "that is carried in the uncertainty.",
        "Measure the card's bar again; if it did come out so, print the card again at 100 %, without fitting it to the page.",
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
    "gap-doubt": Flag(
        _D,
        "The gap in the sheet is too small for a fly that falls before the card without touching it, and for the hand that "
        "lets it go.",
        "Measure from the card to the middle of the fly again, and look for a slip of the decimal point or the unit.",
    ),
    "distance-doubt": Flag(
        _D,
        "The distance of the camera in the sheet does not go with the picture: with it, the card would look different, or "
        "the lens would be none that a phone has. Where the card's perspective shows the distance, that was used.",
        "Measure from the lens to the front of the tank again, and look for a slip of the decimal point or the unit.",
    ),
    "points-rescaled": Flag(
        _N,
        "The two points were read off a picture of another size than the clip's; they were brought to the clip's size.",
        "You need not do anything. To avoid it, read them off the picture that flybench bench still writes.",
    ),
    "points-of-another-picture": Flag(
        _D,
        "Both points lie towards the upper left of the picture, and the flies fall on beyond them: they may have been read "
        "off a smaller picture of the clip. The speed would then be too high by as much as the picture is larger.",
        "Write the size of the picture that you read them off in the sheet, under [scale]: picture. The picture that "
        "flybench bench still writes has the clip's own size.",
    ),
    "points-across": Flag(
        _D,
        "The two points lie across the fall, and the clip was written again after filming: if a program made one shape of "
        "picture into another by squeezing it, the scale along the fall is another.",
        "Take two points above each other, or stand the card in the tank; or send the clip straight from the phone.",
    ),
    "round-column": Flag(
        _D,
        "The two points lie across a round column, which is a lens: what stands in its water looks up to a third wider. "
        "Whether it does here depends on whether the points are in the water or on the glass.",
        "Take two points above each other in the water, where the fly falls: along its axis the column does not magnify.",
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
}
