"""A catalog with three flies that were never measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Style


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    """Return a catalog with two flies A-1, A-2 of one variant and one, B-1, of another."""
    made = open_catalog(str(tmp_path / "flies.sqlite"))
    with made.writing() as session:
        hook = Hook(size=14, material=Material(code="H14", kind=MaterialKind.HOOK, name="hook"))
        bead = Bead(
            diameter_m=0.0031,
            metal=Metal.TUNGSTEN,
            bore=Bore.SLOTTED,
            material=Material(code="T31", kind=MaterialKind.BEAD, name="bead"),
        )
        pattern = Pattern(code="P", name="invented", style=Style.DUBBED)
        for code in "AB":
            variant = Variant(code=code, pattern=pattern, hook=hook, bead=bead)
            session.add_all(Fly(code=f"{code}-{number}", variant=variant) for number in (1, 2))
        session.flush()
        fly = session.scalars(select(Fly).where(Fly.code == "A-1")).one()
        fly.mass_in_water_kg, fly.mass_in_water_u_kg = 0.148e-3, 1e-6
    return made
