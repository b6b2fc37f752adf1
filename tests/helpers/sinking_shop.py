"""An invented shop for the commands about sinking: recipes of the demo, four flies with speeds, and helpers."""

from __future__ import annotations

import json
from pathlib import Path

from console import Said
from shop import measured, shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.patterns import Step
from flybench.catalog.tables.vocabulary import Part, Unit
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row

RECIPES = Path(__file__).parents[2] / "catalog"
NAMES = ("moss-hackle", "querrow-pin", "slate-plump", "toll-rung")
SPEEDS = {
    "S1": ("moss-hackle-12", 0.36),
    "S2": ("moss-hackle-12s", 0.45),
    "S3": ("querrow-pin-16", 0.50),
    "S4": ("toll-rung-12", 0.42),
}
PREDICTED = ("--pattern", "moss-hackle", "--hook", "hk-jig-12", "--bead", "bd-tu-sl-31")


def sinking_shop(path: Path) -> Path:
    """Make a catalog of recipes and four measured flies."""
    catalog = shop(path)
    import_recipes(catalog, [RECIPES / f"{name}.toml" for name in NAMES])
    for code, (variant, speed) in SPEEDS.items():
        add_row(catalog, NOUNS["fly"], {"code": code, "variant": variant})
        measured(catalog, code, speed, 0.004)
    catalog.engine.dispose()
    return path


def refused(said: Said, message: str) -> None:
    """Check that a command ended with this message and printed nothing else."""
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


def flat(text: str) -> str:
    """Return a text that was wrapped to the screen as one line."""
    return " ".join(text.split())


def told(said: Said) -> dict[str, dict[str, object]]:
    """Return the flies of a machine form by code."""
    assert said.code == 0, said.err
    return {one["code"]: one for one in json.loads(said.out)["flies"]}


def floating(catalog: Catalog) -> None:
    """Add a variant of 0.8 g of stuff lighter than water, which no hook takes down."""
    add_row(
        catalog,
        NOUNS["material"],
        {"code": "CORK", "kind": "body", "name": "Cork", "density": "200 kg/m3", "unit": "g"},
    )
    add_row(catalog, NOUNS["pattern"], {"code": "BOB", "name": "Bob", "style": "bulky"})
    with catalog.writing() as session:
        pattern = get(session, NOUNS["pattern"], "BOB")
        cork = get(session, NOUNS["material"], "CORK")
        pattern.steps = [Step(position=1, part=Part.BODY, material=cork, amount=0.8, unit=Unit.GRAM)]
    add_row(catalog, NOUNS["variant"], {"code": "BOB-12", "pattern": "BOB", "hook-code": "hk-jig-12"})
