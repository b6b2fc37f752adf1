"""Flags of a drift: what makes it doubtful, and what to do about it."""

from __future__ import annotations

from flybench.flag import Flag, Weight

FLAGS: dict[str, Flag] = {
    "bed-unknown": Flag(
        Weight.DOUBT,
        "The bed is not told, so a 1/6 power law is used: over cobbles the water near the bed is slower than that.",
        "Say what the bed is: sand, gravel, cobble, boulder, or the size of its stones.",
    ),
    "shallow-rough": Flag(
        Weight.DOUBT,
        "The water is less than 5 stones deep: no known law of the speed over depth holds.",
        "Trust no single number; try the rig and tell what it did.",
    ),
    "stone-tops": Flag(
        Weight.NOTE,
        "The stones' tops stand 2 cm or more above the level where the water stops: flies come to rest on them.",
        "Nothing needed: the band is counted from the tops.",
    ),
    "point-slower": Flag(
        Weight.DOUBT,
        "The point sinks slower than a dropper: it trails above it.",
        "Tie the faster fly to the point.",
    ),
    "leader-short": Flag(
        Weight.DOUBT,
        "The leader in the water is shorter than the way down to the band.",
        "Let more leader into the water.",
    ),
    "held-back": Flag(
        Weight.DOUBT,
        "The line is led at less than 0.7 of the surface speed: the current lifts the flies.",
        "Lead at about 0.8 of the surface speed.",
    ),
    "band-not-reached": Flag(
        Weight.DOUBT,
        "In more than half of the draws the point never comes down to the band.",
        "Take heavier flies, a thinner leader, more slack or a longer drift.",
    ),
    "mostly-grounded": Flag(
        Weight.DOUBT,
        "The point lies on the bed for more than half of the drift.",
        "Take a lighter point or lead faster.",
    ),
}
"""Every flag: its meaning and what to do."""
