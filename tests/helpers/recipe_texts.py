"""Recipes for tests: a small whole file, and random recipes. All of it is invented."""

from __future__ import annotations

import unicodedata
from decimal import Decimal

from hypothesis import strategies as st

from flybench.catalog.recipe.records import (
    Recipe,
    RecipeChange,
    RecipeHead,
    RecipeMaterial,
    RecipeStep,
    RecipeVariant,
    joined_notes,
    split_notes,
)
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit
from flybench.quantity import parse

SMALL = """about = "Invented for tests"

[pattern]
code = "mill-test"
name = "Mill Test"
style = "ribbed"

[[step]]
part = "rib"
material = "wi-1"
amount = 8
unit = "turn"

[[step]]
part = "finish"
text = "Say \\"done\\"."

[[variant]]
code = "mill-test-12"
hook = "hk-12"
bead = "bd-30"
price = "2.40"

[[variant]]
code = "mill-test-14"
hook = "hk-14"
based_on = "mill-test-12"

[[variant.change]]
step = 1
amount = 6.5

[[material]]
code = "bd-30"
kind = "bead"
name = "Brass bead"
diameter = "3 mm"
metal = "brass"
bore = "straight"
hole = "1 mm"
mass = "102 mg +- 2 mg"
unit = "piece"
pack = 25
price = "2.10"

[[material]]
code = "hk-12"
kind = "hook"
name = "Hook 12"
hook = 12
gape = "4.9 mm"
unit = "piece"

[[material]]
code = "hk-14"
kind = "hook"
name = "Hook 14"
hook = 14
unit = "piece"

[[material]]
code = "wi-1"
kind = "wire"
name = "Wire"
density = "8930 kg/m3"
thickness = "0.1 mm"
unit = "turn"
"""

_FORBIDDEN = ' ,:"/\\'


def _texts(longest: int, least: int = 0, lines: bool = False, without: str = "") -> st.SearchStrategy[str]:
    letters = st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp"), exclude_characters=without)
    if lines:
        letters = letters | st.sampled_from("\n\t\\\"'#=")
    bare = st.text(letters, min_size=least, max_size=longest).map(lambda t: unicodedata.normalize("NFC", t))
    if not lines:
        bare = bare.map(lambda text: unicodedata.normalize("NFC", text).strip())
    return bare.filter(lambda text: len(text) >= least)


_CODES = _texts(20, 1, without=_FORBIDDEN).filter(lambda text: not set(_FORBIDDEN) & set(text))
_AMOUNTS = st.floats(1e-6, 1e9)
_PRICES = st.none() | st.integers(0, 10**9).map(lambda cents: Decimal(cents).scaleb(-2))


def _quantities(name: str, low: float, high: float) -> st.SearchStrategy[float]:
    """Return what users would type, and any float at all between the limits [SI]."""
    unit = MATERIAL.fields[name].unit
    display = MATERIAL.fields[name].display
    assert display is not None
    typed = st.integers(int(low / display.factor * 100) + 1, int(high / display.factor * 100)).map(
        lambda number: parse(f"{number / 100} {display.unit}", unit, name)
    )
    return typed | st.floats(low, high)


@st.composite
def _materials(draw: st.DrawFn, code: str, kind: MaterialKind, plain: bool) -> RecipeMaterial:
    length = st.none() if plain else st.none() | _quantities("hole", 1e-4, 6e-3)
    given: dict[str, object] = {}
    if kind is MaterialKind.BEAD:
        given = {
            "diameter": draw(_quantities("diameter", 1.6e-3, 7.9e-3)),
            "metal": draw(st.sampled_from(Metal)),
            "bore": draw(st.sampled_from(Bore)),
            "hole": draw(length),
            "mass": (draw(_quantities("mass", 1e-6, 4e-3)), draw(st.none() | st.floats(0, 1e-3))),
        }
    elif kind is MaterialKind.HOOK:
        given = {"hook": draw(st.integers(1, 32)), "gape": draw(length)}
    pack = draw(st.none() | _AMOUNTS)
    price = None if pack is None else draw(_PRICES.filter(lambda money: money is not None))
    return RecipeMaterial(
        code,
        kind,
        draw(_texts(30, 1)),
        draw(_texts(10)) or None,
        density=draw(st.none() | _quantities("density", 10.0, 23000.0)),
        unit=draw(st.sampled_from(Unit)),
        pack=pack,
        price=price,
        notes=draw(_texts(30, lines=True)),
        **given,  # type: ignore[arg-type]
    )


@st.composite
def recipes(draw: st.DrawFn, plain: bool = False) -> Recipe:
    """Give a random recipe that a file can hold; ``plain`` ones have beads of usual sizes."""
    codes = draw(st.lists(_CODES, min_size=4, max_size=7, unique_by=lambda code: code.casefold()))
    kinds = [MaterialKind.HOOK, MaterialKind.BEAD, *[MaterialKind.WIRE] * (len(codes) - 2)]
    materials = [draw(_materials(code, kind, plain)) for code, kind in zip(codes, kinds, strict=True)]
    steps = []
    for code in codes[2:]:
        amount = draw(st.none() | _AMOUNTS)
        unit = None if amount is None else draw(st.sampled_from(Unit))
        steps.append(
            RecipeStep(draw(st.sampled_from(Part)), code, amount, unit, draw(_texts(40, lines=True)))
        )
    names = draw(st.lists(_CODES, min_size=1, max_size=3, unique_by=lambda code: code.casefold()))
    changes = (RecipeChange(1, draw(st.sampled_from(codes[2:])), draw(st.sampled_from([None, 0.0]))),)
    variants = [
        RecipeVariant(
            name,
            codes[0],
            codes[1],
            names[number - 1] if number else None,
            draw(_PRICES),
            draw(_texts(30, lines=True)),
            changes if number else (),
        )
        for number, name in enumerate(names)
    ]
    about, notes = split_notes(joined_notes(draw(_texts(40)), draw(_texts(60, lines=True))))
    head = RecipeHead(draw(_CODES), draw(_texts(30, 1)), draw(st.sampled_from(Style)), notes)
    return Recipe(
        about=about,
        pattern=head,
        steps=tuple(steps),
        variants=tuple(sorted(variants, key=lambda variant: variant.code)),
        materials=tuple(sorted(materials, key=lambda material: material.code)),
    )
