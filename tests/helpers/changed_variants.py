"""Variants that differ in one thing or two, each with one measured fly; all of it invented."""

from __future__ import annotations

from typing import Any

from invented_runs import add_run

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Step, Variant, VariantChange
from flybench.catalog.tables.vocabulary import MaterialKind, Part, Unit


def family(catalog: Catalog) -> None:
    """Add variants that differ in one thing or two, each with one fly; all of it invented."""
    with catalog.writing() as session:
        hen = Material(code="HEN", kind=MaterialKind.HACKLE, name="hen")
        lack = Material(code="LACK", kind=MaterialKind.RESIN, name="lack")
        first: Variant = get(session, NOUNS["variant"], "MILL-28-14")
        second: Variant = get(session, NOUNS["variant"], "MILL-24-16")
        first.pattern.steps = [
            Step(position=1, part=Part.HACKLE, material=hen, amount=2, unit=Unit.TURN),
            Step(position=2, part=Part.COATING, material=lack, amount=1, unit=Unit.DROP),
        ]

        def add(code: str, **given: Any) -> Variant:
            made = Variant(code=code, pattern=first.pattern, **given)
            session.add_all([made, Fly(code=f"F-{code}", variant=made)])
            return made

        add("SMALL", hook=first.hook, bead=second.bead)
        add("BARE", hook=first.hook)
        add("THICK", hook=first.hook, bead=first.bead).changes = [VariantChange(position=1, amount=4)]
        add("RAW", hook=first.hook, bead=first.bead).changes = [VariantChange(position=2, amount=0)]
        add("HOOK", hook=second.hook, bead=first.bead)
        add("TWICE", hook=second.hook, bead=second.bead).changes = [VariantChange(position=1, amount=4)]
        session.add(Fly(code="F-M3", variant=second))
    speeds = {
        "M1": 0.40,
        "F-SMALL": 0.30,
        "F-BARE": 0.10,
        "F-THICK": 0.32,
        "F-RAW": 0.38,
        "F-HOOK": 0.42,
        "F-M3": 0.31,
        "F-TWICE": 0.25,
    }
    for number, (code, speed) in enumerate(speeds.items(), 1):
        add_run(catalog, code, speed, number)
