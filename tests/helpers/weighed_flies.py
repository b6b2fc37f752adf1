"""What the catalog holds of a weighed fly, and words for units."""

from __future__ import annotations

from collections.abc import Callable

from console import Said

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly

Run = Callable[..., Said]
ROOM = 293.15
"""A usual room [K]."""
GRAM, MILLIGRAM = 1e-3, 1e-6
"""In kilograms."""
STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2], 3rd CGPM (1901)."""
MASSES = ("mass_kg", "mass_u_kg", "mass_in_water_kg", "mass_in_water_u_kg")


def held(catalog: Catalog, code: str) -> tuple[float | None, ...]:
    """Return what the catalog holds of a fly's weighings."""
    with catalog.reading() as session:
        fly: Fly = get(session, NOUNS["fly"], code)
        return tuple(getattr(fly, name) for name in MASSES)
