"""Fields: one description of each column that a user may see, set, search, sort by, export or label with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from sqlalchemy import Select, SQLColumnExpression


@dataclass(frozen=True)
class Display:
    """A unit in which the user reads and writes: SI value = number x factor."""

    unit: str
    factor: float
    digits: int = 4
    """Significant digits shown where no uncertainty says better."""

    @property
    def suffix(self) -> str:
        """Return the unit as it stands in names of CSV columns."""
        return self.unit.replace("/", "_")


MM = Display("mm", 1e-3)
MG = Display("mg", 1e-6)
CM_S = Display("cm/s", 1e-2, 3)
KG_M3 = Display("kg/m3", 1.0)


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
    """Name of the field with its standard uncertainty, told with it as +- (k = 2)."""
    hidden: bool = False
    """True where it serves other fields and is not shown by itself."""

    @property
    def settable(self) -> bool:
        """Tell whether a user may give it."""
        return bool(self.attribute)

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


def speed_fields(
    name: str, what: str, value: SQLColumnExpression[Any], spread: SQLColumnExpression[Any]
) -> tuple[Field, Field]:
    """Return a speed and its standard uncertainty, which is told with it."""
    doubt = f"{name}-u"
    return (
        Field(name, "quantity", what, value, unit="m/s", display=CM_S, plus_minus=doubt),
        Field(
            doubt,
            "quantity",
            f"Standard uncertainty of {name}",
            spread,
            unit="m/s",
            display=CM_S,
            hidden=True,
        ),
    )
