"""A small invented shop: materials, patterns, variants and flies, with sink speeds where wanted."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import Fly, FlySpeed, Variant, VariantSpeed
from flybench.jobs.shelf.rows import add_row


def shop(path: Path | str) -> Catalog:
    """Make an invented catalog of three variants and four flies, none of them measured.

    In a file it is a copy of one that was made once; on a server it is made where it stands.
    """
    if "://" in str(path):
        return _stocked(open_catalog(str(path)))
    Path(path).write_bytes(_ready_made())
    return open_catalog(str(path), make=False)


@cache
def _ready_made() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "shop.sqlite"
        _stocked(open_catalog(str(made)))
        return made.read_bytes()  # nothing is left beside it once all connections are closed


def _stocked(catalog: Catalog) -> Catalog:

    def add(noun: str, **given: str) -> None:
        add_row(catalog, NOUNS[noun], {name.replace("_", "-"): text for name, text in given.items()})

    add(
        "material", code="H14", kind="hook", name="Curved hook", hook="14", mass="40 mg", pack="25", price="6"
    )
    add("material", code="H16", kind="hook", name="Straight hook", hook="16")
    add(
        "material",
        code="B28",
        kind="bead",
        name="Slotted bead",
        diameter="2.8 mm",
        metal="tungsten",
        bore="slotted",
        mass="150 mg +- 2 mg",
        pack="20",
        price="5",
    )
    add(
        "material", code="B24", kind="bead", name="Bead", diameter="2.4 mm", metal="brass", bore="countersunk"
    )
    add("material", code="HARE", kind="body", name="Hare dubbing", unit="g", pack="2", price="3.20")
    add("pattern", code="MILL", name="Mill Pond", style="slick")
    add("pattern", code="ÄSCHE", name="Äsche Straße", style="hackled", notes="= stiff hackle")
    add("variant", code="MILL-28-14", pattern="MILL", hook_code="H14", bead_code="B28", price="2.40")
    add("variant", code="MILL-24-16", pattern="MILL", hook_code="H16", bead_code="B24", based_on="MILL-28-14")
    add("variant", code="A-0-16", pattern="ÄSCHE", hook_code="H16")
    add("fly", code="M1", variant="MILL-28-14", tied="2026-03-01", mass="0.21 g +- 1 mg")
    add("fly", code="M2", variant="MILL-28-14", tied="2026-04-02", mass="0.22 g")
    add("fly", code="M3", variant="MILL-24-16", retired="2026-05-01")
    add("fly", code="A1", variant="A-0-16", notes="first of its kind")
    return catalog


def measured(catalog: Catalog, code: str, speed: float, uncertainty: float) -> None:
    """Give a fly a sink speed [m/s] as if it had been measured."""
    with catalog.writing() as session:
        fly: Fly = get(session, NOUNS["fly"], code)
        values = {"free_speed_m_s": speed, "free_uncertainty_m_s": uncertainty, "temperature_k": 291.15}
        session.add(FlySpeed(fly_id=fly.id, runs=1, drops=5, **values))
        variant: Variant = fly.variant
        session.merge(VariantSpeed(variant_id=variant.id, flies=1, **values))


def shop_with_speeds(path: Path | str) -> Catalog:
    """Make that catalog with three of its flies measured: fast, middling and slow."""
    catalog = shop(path)
    for code, speed in (("M1", 0.45), ("M2", 0.30), ("A1", 0.20)):
        measured(catalog, code, speed, 0.01 * speed)
    return catalog
