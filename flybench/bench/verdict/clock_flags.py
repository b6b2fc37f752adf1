"""Flags of the file and its times: damage, missing frames, and rates that are doubtful."""

from __future__ import annotations

from flybench.flag import Flag, Weight

_N, _D, _R = Weight.NOTE, Weight.DOUBT, Weight.REFUSAL

CLOCK_FLAGS: dict[str, Flag] = {
    "clip-damaged": Flag(
        _D,
        "A part of the clip cannot be read, or the clip breaks off.",
        "Copy it from the phone again, unedited.",
    ),
    "frames-missing": Flag(
        _N,
        "The camera left out some frames.",
        "You need not do anything, as each frame carries its own time. To avoid it, close other apps while filming.",
    ),
    "uneven-clock": Flag(
        _D,
        "The frames' times are uneven, so that the clock may be wrong.",
        "Film at a fixed frame rate, in good light.",
    ),
    "several-videos": Flag(
        _N,
        "The file holds more than one video; the one with the most and largest pictures was measured.",
        "Look at the picture on the report page. If it is the wrong one, export the other video by itself.",
    ),
    "times-contradicted": Flag(
        _D,
        "The file says that it lasts a little longer or shorter than its pictures do, so that it may run too fast or too "
        "slow; the difference is carried in the uncertainty.",
        "Copy the clip from the phone again, unedited, or write the rate at which the camera filmed in the sheet, under "
        "[camera]: capture_rate.",
    ),
    "pictures-left-out": Flag(
        _D,
        "Here and there the fly moves twice as far from one picture to the next, though the times are even: pictures were "
        "left out. If the rest were moved together, the clip is too short and the fly sinks slower than this; the difference "
        "is carried in the uncertainty.",
        "Copy the clip from the phone again, unedited.",
    ),
    "slow-motion-guessed": Flag(
        _D,
        "The capture rate is not a whole multiple of the rate at which the clip plays, so that one of the two may be wrong.",
        "Write the rate at which the camera filmed in the sheet, under [camera]: capture_rate.",
    ),
    "taken-as-real-time": Flag(
        _D,
        "Nothing in the file says how fast the camera filmed, and the falls do not show it either: a fly that sinks faster, "
        "in slow motion or in a clip that a program slowed to fit another rate, could look the same.",
        "If you know the rate at which the camera filmed, write it in the sheet, under [camera]: capture_rate. To let the "
        "fall itself tell, weigh the fly, or let it go in view of the camera, above where it reaches its sink speed.",
    ),
    "looks-slowed": Flag(
        _R,
        "The clip looks slowed down: in real time no fly could take so long to come to so low a speed.",
        "Write the rate at which the camera filmed in the sheet, under [camera]: capture_rate; or send the clip straight "
        "from the phone, unedited.",
    ),
    "looks-sped-up": Flag(
        _R,
        "The clip looks sped up: in real time no fly could come to its speed so soon.",
        "Copy the clip from the phone again, unedited.",
    ),
    "rate-contradicted": Flag(
        _R,
        "The capture rate does not fit the falls: at that rate no fly would come to its speed as these do.",
        "Look up the rate at which the camera filmed, and write it in the sheet, under [camera]: capture_rate.",
    ),
    "rates-differ": Flag(
        _D,
        "The file states another capture rate than the one that was typed, or than its own times have, and the falls do not "
        "show which is right.",
        "Look up at which rate the camera filmed, and write it in the sheet, under [camera]: capture_rate. To let the fall "
        "itself tell, weigh the fly, or let it go in view of the camera, above where it reaches its sink speed.",
    ),
    "rate-not-borne-out": Flag(
        _D,
        "The falls do not bear the capture rate out: by what they show, the clip may play slower or faster than that rate "
        "says.",
        "Look up the rate at which the camera filmed, and write it in the sheet, under [camera]: capture_rate. A copy from a "
        "messenger may hold every other frame in real time: send the clip straight from the phone, weigh the fly, or let it "
        "go in view of the camera.",
    ),
}
