"""The words that columns may hold; each is stored by its value."""

from __future__ import annotations

from enum import Enum


class MaterialKind(Enum):
    """What a material is on the bench."""

    HOOK = "hook"
    BEAD = "bead"
    THREAD = "thread"
    BODY = "body"
    RIB = "rib"
    WING = "wing"
    HACKLE = "hackle"
    TAIL = "tail"
    WIRE = "wire"
    RESIN = "resin"
    BALLAST = "ballast"


class Metal(Enum):
    """What a bead is made of."""

    TUNGSTEN = "tungsten"
    BRASS = "brass"
    COPPER = "copper"
    STEEL = "steel"
    TIN = "tin"
    LEAD = "lead"
    GLASS = "glass"


class Bore(Enum):
    """How a bead is drilled."""

    STRAIGHT = "straight"
    COUNTERSUNK = "countersunk"
    SLOTTED = "slotted"
    REVERSED = "reversed"


class Style(Enum):
    """Style of body: what makes the drag."""

    SLICK = "slick"
    RIBBED = "ribbed"
    DUBBED = "dubbed"
    HACKLED = "hackled"
    SOFT = "soft"
    BULKY = "bulky"


class Part(Enum):
    """What a step of a recipe makes."""

    HOOK = "hook"
    BEAD = "bead"
    BALLAST = "ballast"
    THREAD = "thread"
    TAIL = "tail"
    BODY = "body"
    RIB = "rib"
    WING = "wing"
    HACKLE = "hackle"
    COLLAR = "collar"
    COATING = "coating"
    FINISH = "finish"


class Unit(Enum):
    """In what a material is counted."""

    PIECE = "piece"
    TURN = "turn"
    MILLIMETRE = "mm"
    GRAM = "g"
    MILLIGRAM = "mg"
    DROP = "drop"


class Verdict(Enum):
    """What the bench said of a run."""

    GOOD = "good"
    USABLE = "usable"
    REFUSED = "refused"


class Why(Enum):
    """Why stock moved."""

    TIED = "tied"
    BOUGHT = "bought"
    USED = "used"
    SOLD = "sold"
    GIVEN = "given"
    LOST = "lost"
    RETURNED = "returned"
    COUNTED = "counted"


class Action(Enum):
    """What was done to a row."""

    ADDED = "added"
    CHANGED = "changed"
    REMOVED = "removed"
