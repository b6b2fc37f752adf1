"""To which thing of the catalog a row belongs: a step to its pattern, a movement of stock to what moved."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Table, select

from flybench.catalog.tables.base import CODE_LENGTH
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant, VariantChange
from flybench.catalog.tables.photos import Photo

_WITH_CODE = {model.__tablename__: model.__table__ for model in (Material, Pattern, Variant, Fly)}
_OWNER: Mapping[str, tuple[tuple[str, str], ...]] = {
    Hook.__tablename__: (("material_id", "material"),),
    Bead.__tablename__: (("material_id", "material"),),
    MaterialMovement.__tablename__: (("material_id", "material"),),
    Step.__tablename__: (("pattern_id", "pattern"),),
    Photo.__tablename__: (("pattern_id", "pattern"), ("variant_id", "variant"), ("fly_id", "fly")),
    VariantChange.__tablename__: (("variant_id", "variant"),),
    FlyMovement.__tablename__: (("variant_id", "variant"),),
}
"""Columns by which rows without a code of their own refer to the thing that they belong to."""


class Owners:
    """The things that rows belong to, each looked up once."""

    def __init__(self) -> None:
        """Begin with nothing known."""
        self._codes: dict[tuple[str, int], str] = {}

    def of(self, connection: Connection, table: str, values: Mapping[str, Any]) -> tuple[str, str]:
        """Return the noun and the code of the thing that a row with these values belongs to; of a run its number."""
        if table in _WITH_CODE:
            self._codes[table, values["id"]] = values["code"]
            return table, str(values["code"])
        for column, noun in _OWNER.get(table, ()):
            if values.get(column) is not None:
                return noun, self.code(connection, noun, values[column])
        if table in ("bench_run", "run_drop"):
            return "run", str(values["id" if table == BenchRun.__tablename__ else "run_id"])
        return table, str(next(iter(values.values())))[:CODE_LENGTH]

    def code(self, connection: Connection, noun: str, number: int) -> str:
        """Return the code of a material, pattern, variant or fly by its number; "" where it is not there any more."""
        if (noun, number) not in self._codes:
            table: Table = _WITH_CODE[noun]  # type: ignore[assignment]
            found = connection.scalar(select(table.c.code).where(table.c.id == number))
            self._codes[noun, number] = str(found or "")
        return self._codes[noun, number]
