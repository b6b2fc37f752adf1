"""A recipe as plain records: what one TOML file holds, in SI units."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal

from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit

_ABOUT = re.compile(r"About: (\S(?:[^\n]*\S)?)(?:\n(.*))?", re.DOTALL)


@dataclass(frozen=True)
class RecipeMaterial:
    """A material, with all that is needed to make it; named as the catalog's fields are.

    Lengths [m], density [kg/m3], mass as weighed and its standard uncertainty [kg].
    """

    code: str
    kind: MaterialKind
    name: str
    size: str | None = None
    colour: str | None = None
    density: float | None = None
    thickness: float | None = None
    diameter: float | None = None
    metal: Metal | None = None
    bore: Bore | None = None
    hole: float | None = None
    mouth: float | None = None
    mouth_depth: float | None = None
    slot: float | None = None
    hook: int | None = None
    gape: float | None = None
    shank: float | None = None
    wire: float | None = None
    mass: float | None = None
    mass_u: float | None = None
    unit: Unit = Unit.PIECE
    pack: float | None = None
    price: Decimal | None = None
    notes: str = ""


@dataclass(frozen=True)
class RecipeStep:
    """One step; the amount is in the unit, and both are given or neither."""

    part: Part
    material: str | None = None
    amount: float | None = None
    unit: Unit | None = None
    text: str = ""


@dataclass(frozen=True)
class RecipeChange:
    """A step, counted from 1, that a variant does otherwise; an amount of 0 leaves it out."""

    step: int
    material: str | None = None
    amount: float | None = None


@dataclass(frozen=True)
class RecipeVariant:
    """The pattern on one hook with one bead, or none."""

    code: str
    hook: str
    bead: str | None = None
    based_on: str | None = None
    price: Decimal | None = None
    notes: str = ""
    changes: tuple[RecipeChange, ...] = ()


@dataclass(frozen=True)
class RecipePhoto:
    """A photo beside the recipe file: its plain name, and the SHA-256 of its content once it was looked at."""

    name: str
    sha256: str = ""


@dataclass(frozen=True)
class Recipe:
    """A pattern with all it takes; variants and materials stand in the order of their codes."""

    code: str
    name: str
    style: Style
    about: str = ""
    notes: str = ""
    photos: tuple[RecipePhoto, ...] = ()
    steps: tuple[RecipeStep, ...] = ()
    variants: tuple[RecipeVariant, ...] = ()
    materials: tuple[RecipeMaterial, ...] = ()
    source: str = field(default="", compare=False)
    """The file it came from, for messages."""

    @property
    def where(self) -> str:
        """Return how messages name it."""
        return self.source or f"pattern {self.code}"


def joined_notes(about: str, notes: str) -> str:
    """Return the notes as the catalog keeps them: what the file says about itself is their first line."""
    if not about:
        return notes
    return f"About: {about}\n{notes}" if notes else f"About: {about}"


def split_notes(notes: str) -> tuple[str, str]:
    """Return what the file says about itself, and the rest of the notes."""
    found = _ABOUT.fullmatch(notes)
    return (found[1], found[2] or "") if found else ("", notes)
