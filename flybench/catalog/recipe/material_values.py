"""Quantities of a material in a recipe file, with their units."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from flybench.catalog.recipe.values import Json, Of, as_toml
from flybench.catalog.search.fields import Display, Field
from flybench.quantity import COVERAGE_FACTOR, parse
from flybench.units import unit_pattern

_NUMBER = r"[0-9]*\.?[0-9]+(?:[eE][+-]?[0-9]+)?"


@dataclass(frozen=True)
class Quantity(Of):
    """A number with its unit, kept in SI; ``example`` is how it may be written."""

    example: str

    def read(self, given: Any) -> Any:
        """Return the value [SI]; the catalog refuses one with an uncertainty."""
        value = super().read(given)
        return None if value is None else value[0]

    @property
    def meaning(self) -> str:
        """What it means, with its limits in the user's unit."""
        field, unit = self.field, self.field.display
        assert unit is not None and field.low is not None and field.high is not None
        return f"{self.what}, {field.low / unit.factor:g} to {field.high / unit.factor:g} {unit.unit}"

    def write(self, value: Any) -> str:
        """Return number and unit in quotes."""
        return as_toml(_quantity_of(self.field, value))

    def form(self) -> Json:
        """Return what a quantity may look like."""
        return {
            "type": "string",
            "pattern": rf"^{_pattern(self.field)}$",
            "examples": [self.example],
        }


@dataclass(frozen=True)
class Weighed(Quantity):
    """A mass as weighed: (value, standard uncertainty or None), both in kg."""

    def read(self, given: Any) -> Any:
        """Return the mass; what follows "+-" is the expanded uncertainty (k = 2)."""
        return Of.read(self, given)

    def write(self, value: Any) -> str:
        """Return the mass with its expanded uncertainty, where it has one."""
        mass, standard = value
        text = _quantity_of(self.field, mass)
        if standard is not None:
            text = f"{text} +- {_quantity_of(self.field, COVERAGE_FACTOR * standard)}"
        return as_toml(text)

    def form(self) -> Json:
        """Return what a mass may look like."""
        mass = _pattern(self.field)
        return {
            "type": "string",
            "pattern": rf"^{mass}(?: ?(?:\+-|±) ?{mass})?$",
            "examples": [self.example],
        }


def quantity_text(value: float, unit: str, display: Display) -> str:
    """Return the shortest text in the user's unit that reads back as exactly this value [unit]."""
    for digits in range(1, 18):
        text = f"{Decimal(f'{value / display.factor:.{digits}g}'):f} {display.unit}"
        if parse(text, unit, "recipe") == value:
            return text
    return f"{value!r} {unit}"


def _quantity_of(field: Field, value: float) -> str:
    assert field.display is not None
    return quantity_text(value, field.unit, field.display)


def _pattern(field: Field) -> str:
    return rf"{_NUMBER} ?(?:{unit_pattern(field.unit)})"
