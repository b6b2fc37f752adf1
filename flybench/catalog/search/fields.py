"""Fields: one description of each column that a user may see, set, search, sort by, export or label with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from sqlalchemy import Select, SQLColumnExpression


@dataclass(frozen=True)
class Display:
    """A unit in which the user reads and writes: value in the SI unit = number x factor."""

    unit: str
    si: str
    factor: float
    example: str
    """A value as a user may write it, for help texts and errors."""
    digits: int = 4
    """Significant digits shown where no uncertainty says better."""

    @property
    def suffix(self) -> str:
        """Return the unit as it stands in names of CSV columns."""
        return self.unit.replace("/", "_")


MM = Display("mm", "m", 1e-3, "2.8 mm")
MG = Display("mg", "kg", 1e-6, "0.21 g")
CM_S = Display("cm/s", "m/s", 1e-2, "28 cm/s", 3)
KG_M3 = Display("kg/m3", "kg/m**3", 1.0, "7800 kg/m**3")


BEAD_STEP = 0.1e-3
"""Step between the sizes of beads [m] (common practice, no source: sizes are sold to a tenth of a millimetre)."""


@dataclass(frozen=True)
class Field:
    """One field of a noun.

    ``kind`` is one of text, code, choice, count, number, quantity, money, date, time, flag, words.
    ``column`` is what is searched and sorted by. ``attribute`` is the path on the row that is set ("" where it
    is worked out), ``target`` the noun that a code refers to.
    """

    name: str
    kind: str
    what: str
    column: SQLColumnExpression[Any]
    attribute: str = ""
    unit: str = ""
    display: Display | None = None
    choices: type[Enum] | None = None
    target: str = ""
    needed: bool = False
    low: float | None = None
    high: float | None = None
    plus_minus: str = ""
    """Name of the field with its standard uncertainty, shown with it as +- (k = 2)."""
    given_as: str = ""
    """Name of the field that holds only what was given, where this one shows what was worked out in its place too."""
    hidden: bool = False
    """True where it serves other fields and is not shown by itself."""
    kinds: tuple[Enum, ...] = ()
    """Kinds of material that it belongs to; all where empty."""
    step: float | None = None
    """Step between the values that the trade uses, in the SI unit or as a plain number: one that is searched for is
    told no more coarsely."""
    kinds_need_it: bool = False
    """True where a material of those kinds cannot do without it."""

    @property
    def settable(self) -> bool:
        """Tell whether a user may give it."""
        return bool(self.attribute)

    @property
    def doubt_attribute(self) -> str:
        """Return the path of its standard uncertainty on the row that is set; "" where none is kept there."""
        stem, _, unit = self.attribute.rpartition("_")
        return f"{stem}_u_{unit}" if self.plus_minus and stem else ""

    @property
    def json_name(self) -> str:
        """Return its name in machine forms: SI unit behind it."""
        ending = {"m": "_m", "kg": "_kg", "m/s": "_m_s", "kg/m**3": "_kg_m3", "K": "_k"}.get(self.unit, "")
        return self.name.replace("-", "_") + ending

    @property
    def csv_name(self) -> str:
        """Return its name as a CSV column: the user's unit behind it."""
        name = self.name.replace("-", "_")
        return f"{name}_{self.display.suffix}" if self.display else name


@dataclass(frozen=True)
class Noun:
    """A kind of thing in the catalog: its table, its fields, and how its rows are selected."""

    name: str
    plural: str
    what: str
    model: type[Any]
    fields: Mapping[str, Field]
    joins: Select[Any]
    """Selects nothing yet; joins every table that the fields' columns come from."""
    shown: tuple[str, ...]
    """Fields of a list, in order."""
    searched: tuple[SQLColumnExpression[Any], ...]
    """Columns in which a bare word is looked for."""
    sort: str = "code"
    key: str = "code"
    """Field that names one row."""


def fields_of(*fields: Field) -> dict[str, Field]:
    """Return fields by name, in order."""
    return {one.name: one for one in fields}


def of_kinds(kinds: tuple[Enum, ...], needed: tuple[str, ...], *fields: Field) -> tuple[Field, ...]:
    """Return fields that belong to these kinds of material only, which cannot do without those in ``needed``."""
    return tuple(replace(one, kinds=kinds, kinds_need_it=one.name in needed) for one in fields)


def quantity(
    name: str,
    what: str,
    column: SQLColumnExpression[Any],
    display: Display,
    attribute: str = "",
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
) -> Field:
    """Return a field for a value with a unit; its limits and its step are in the SI unit."""
    return Field(
        name, "quantity", what, column, attribute, display.si, display, low=low, high=high, step=step
    )


def with_doubt(field: Field, column: SQLColumnExpression[Any]) -> tuple[Field, Field]:
    """Return a quantity and the field of its standard uncertainty, which is shown with it as +- (k = 2)."""
    doubt = quantity(f"{field.name}-u", f"Standard uncertainty of {field.name}", column, field.display or MM)
    return replace(field, plus_minus=doubt.name), replace(doubt, hidden=True)
