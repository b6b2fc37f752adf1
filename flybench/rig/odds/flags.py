"""Flags of a drift: what makes it doubtful, and what to do about it."""

from __future__ import annotations

from flybench.flag import Flag, Weight

FLAGS: dict[str, Flag] = {
    "bed-unknown": Flag(
        Weight.DOUBT,
        "Nothing is said about the bed, so the speed is taken to fall off with depth by the 1/6 power law; over cobbles "
        "the water near the bed is slower than that.",
        "Say what the bed is made of with --bed, or how large its stones are with --d84.",
    ),
    "shallow-rough": Flag(
        Weight.DOUBT,
        "The water is less than five stones deep, and no known law says how fast it runs at each depth there.",
        "Trust no single number; try the rig, and say with flybench rig adjust what it did.",
    ),
    "stone-tops": Flag(
        Weight.NOTE,
        "The stones stand out of the bed by 2 cm or more, and flies come to rest on their tops, not between them.",
        "Nothing needs to be done: heights and touches are counted from the tops of the stones.",
    ),
    "unlike-a-fly": Flag(
        Weight.DOUBT,
        "A fly's weight in water and its sink speed hardly go together: so much weight that sinks so slowly is a disc two "
        "centimetres across, so little that sinks so fast is less than a bare bead of 2 mm.",
        "Check both numbers and their units: a nymph that sinks at 30 cm/s weighs about 0.2 g in water.",
    ),
    "point-slower": Flag(
        Weight.DOUBT,
        "The point fly sinks slower than a dropper, so it trails above it.",
        "Tie the faster fly to the point.",
    ),
    "leader-short": Flag(
        Weight.DOUBT,
        "The leader in the water is too short to reach down to the fish's level, at least where the water is as deep as its "
        "± allows.",
        "Let more leader into the water (--leader-length).",
    ),
    "held-back": Flag(
        Weight.DOUBT,
        "The line is led at less than 0.7 of the surface speed, so the current lifts the flies.",
        "Lead it at about 0.8 of the surface speed.",
    ),
    "led-fast": Flag(
        Weight.DOUBT,
        "The line is led faster than the surface runs, so it drags the flies along and lifts them.",
        "Lead it at about 0.8 of the surface speed.",
    ),
    "film-drag": Flag(
        Weight.DOUBT,
        "The leader floats, and how hard water drags on a line in its skin is known to a factor of two at best.",
        "Rub grease off the leader, so that it sinks, or trust the answer less.",
    ),
    "skates": Flag(
        Weight.DOUBT,
        "The pull of the line lifts the point fly to the surface, where it skates.",
        "Lead the line at about 0.8 of the surface speed, hold the rod's tip lower, or take a heavier point or a thinner "
        "leader.",
    ),
    "dropper-in-air": Flag(
        Weight.DOUBT,
        "A dropper is in the air: it is tied so far up that the line down from the rod's tip does not let it into the water, "
        "or the pull of the line lifts it out.",
        "Tie it nearer to the point (--dropper-gap), hold the rod's tip lower, let out more line, or lead it at about 0.8 of "
        "the surface speed.",
    ),
    "tag-long": Flag(
        Weight.DOUBT,
        "A dropper's tag is longer than the way from its knot down to the next fly, so the two flies catch in each other, "
        "which is not worked out.",
        "Tie it on a shorter tag (--dropper-tag), or farther up (--dropper-gap).",
    ),
    "level-not-reached": Flag(
        Weight.DOUBT,
        "In more than half of the drifts the point fly does not come down to the fish's level in time.",
        "Take heavier flies, a thinner leader, more slack or a longer drift.",
    ),
    "seldom-down": Flag(
        Weight.DOUBT,
        "The point fly is down at the fish's level in time in more than half of the drifts, but in fewer than are wanted.",
        "Land the flies farther upstream (--farthest) or more steeply, or take a heavier point, which touches the bottom "
        "more often.",
    ),
    "mostly-grounded": Flag(
        Weight.DOUBT,
        "Once it is down, the point fly lies on the bed for more than half of the drift.",
        "Take a lighter point fly, let less leader into the water, or lead the line faster.",
    ),
}
"""Every flag by its name: how much it matters, what it means and what to do."""
