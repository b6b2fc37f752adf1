"""Recipe files that are wrong or meant to harm: each is refused with file, key, limit and cure.

All of it is invented.
"""

from __future__ import annotations

import tomllib

import pytest
from recipe_texts import SMALL

from flybench.catalog.recipe.read import read_recipe
from flybench.errors import FlybenchError

FILE = "catalog/xx.toml"
STYLE = 'style = "ribbed"'
ABOUT = 'about = "Invented for tests"'
PLAIN = "Give the plain name of a .jpg, .jpeg or .png file that lies beside this file."
DEEP = "is nested too deep. Recipes have tables and lists of one level."
AMOUNT = "is not possible. Give 1e-06 to 1e+09."
UNIT = 'Write it with its unit, for example "2.8 mm".'
NO_PRICE = "is not a price. Write it as 2.40, zero or more."
MATERIAL = "Add the material to this file, or correct the code."
CIRCLE = "Base it on a variant that is not based on this one."

REFUSED = [
    (STYLE, 'stile = "ribbed"', "pattern.stile: is not known. Did you mean style?"),
    (STYLE, 'style = "ribed"', 'pattern.style: "ribed" is not known. Did you mean ribbed?'),
    (STYLE, "style = 3", 'pattern.style: 3 is not a text. Write it in "quotes".'),
    (STYLE, "", "pattern.style: is missing. Give it; it is a text."),
    ('name = "Mill Test"', 'name = ""', "pattern.name: is empty. Give it a value; it cannot be without one."),
    (
        'name = "Mill Test"',
        f'name = "{"x" * 201}"',
        "pattern.name: is 201 letters long. Use at most 200 letters.",
    ),
    (
        'name = "Mill Test"',
        'name = "a\\u0007b"',
        "pattern.name: has the control character '\\x07' in it. Take it out.",
    ),
    (
        'code = "mill-test"',
        'code = "mill/test"',
        'pattern.code: "mill/test" has a blank or one of , : " / \\ in it. Write it as one word, such as AB-12.',
    ),
    (
        'code = "mill-test"',
        f'code = "{"x" * 41}"',
        "pattern.code: is 41 letters long. Use at most 40 letters.",
    ),
    (
        STYLE,
        f'{STYLE}\nnotes = "{"x" * 20001}"',
        "pattern.notes: is 20001 letters long. Use at most 20000 letters.",
    ),
    ("amount = 8", "amount = nan", f"step[1].amount: nan {AMOUNT}"),
    ("amount = 8", "amount = -inf", f"step[1].amount: -inf {AMOUNT}"),
    ("amount = 8", "amount = -8", f"step[1].amount: -8 {AMOUNT}"),
    ("amount = 8", "amount = 0", f"step[1].amount: 0 {AMOUNT}"),
    (
        "amount = 8",
        "amount = true",
        "step[1].amount: true is not a number. Write it without quotes, such as 2.5.",
    ),
    (
        "amount = 8",
        f"amount = 0x{'f' * 5000}",
        "step[1].amount: a huge number is not possible. Give a smaller number.",
    ),
    ("amount = 8", f"amount = {'9' * 5000}", "holds an impossible number or date. Take it out."),
    ('unit = "turn"\n', "", "step[1].unit: is missing. Give amount and unit together, or neither."),
    ('unit = "turn"', 'unit = "turns"', 'step[1].unit: "turns" is not known. Did you mean turn?'),
    ('part = "rib"', 'part = "wig"', 'step[1].part: "wig" is not known. Did you mean wing?'),
    (
        'material = "wi-1"',
        'material = "wi-2"',
        f'step[1].material: no [[material]] has the code "wi-2". {MATERIAL}',
    ),
    (
        'bead = "bd-30"',
        'bead = "bd-31"',
        f'variant[1].bead: no [[material]] has the code "bd-31". {MATERIAL}',
    ),
    ('bead = "bd-30"', 'bead = "hk-12"', 'variant[1].bead: "hk-12" is a hook. Name a bead.'),
    ('price = "2.40"', 'price = "-2"', f'variant[1].price: "-2" {NO_PRICE}'),
    ('price = "2.40"', 'price = "NaN"', f'variant[1].price: "NaN" {NO_PRICE}'),
    ('price = "2.40"', "price = 2.4", 'variant[1].price: 2.4 is not a text. Write it in "quotes".'),
    (
        'code = "mill-test-14"',
        'code = "Mill-Test-12"',
        'variant[2].code: "Mill-Test-12" is used already, by variant[1]. '
        "Choose another code; upper and lower case count as the same.",
    ),
    (
        'code = "hk-14"\nkind',
        'code = "hk-12"\nkind',
        'material[3].code: "hk-12" is used already, by material[2]. '
        "Choose another code; upper and lower case count as the same.",
    ),
    (
        'price = "2.40"',
        'based_on = "mill-test-14"',
        f"variant[1].based_on: is based on itself in the end: mill-test-12 -> mill-test-14 -> mill-test-12. {CIRCLE}",
    ),
    (
        'based_on = "mill-test-12"',
        'based_on = "elsewhere"',
        'variant[2].based_on: no [[variant]] here has the code "elsewhere". '
        "Name a variant of this file, or leave it out.",
    ),
    ("step = 1", "step = 3", "variant[2].change: there is no step 3. Steps are 1 to 2."),
    (
        "step = 1",
        "step = 1.0",
        "variant[2].change[1].step: 1.0 is not a whole number. Write it without quotes, such as 14.",
    ),
    (
        "step = 1",
        "step = 2",
        "variant[2].change: step 2 has no unit for an amount. Give step[2] an amount and a unit.",
    ),
    (
        "amount = 6.5\n",
        "amount = 6.5\n[[variant.change]]\nstep = 1\namount = 1\n",
        "variant[2].change: step 1 is changed twice. Join the two.",
    ),
    (
        "step = 1\namount = 6.5",
        "step = 1",
        "variant[2].change[1].step: is not changed. Give another material or amount, or leave the change out.",
    ),
    ('"3 mm"', '"3"', f'material[1].diameter: "3" has no unit. {UNIT}'),
    ('"3 mm"', '"3 kg"', f'material[1].diameter: "3 kg" is not a length. {UNIT}'),
    ('"3 mm"', '"nan mm"', f'material[1].diameter: "nan mm" is not a length. {UNIT}'),
    ('"3 mm"', '"1e999 mm"', f'material[1].diameter: "1e999 mm" is not a finite number. {UNIT}'),
    (
        '"3 mm"',
        '"-3 mm"',
        "material[1].diameter: -3 mm is outside 0.001 to 12 mm. Check the number and its unit.",
    ),
    (
        '"3 mm"',
        '"3 m"',
        "material[1].diameter: 3 m is outside 0.000001 to 0.012 m. Check the number and its unit.",
    ),
    (
        '"3 mm"',
        '"3 mm +- 1 mm"',
        'material[1].diameter: "3 mm +- 1 mm" has an uncertainty, and none is used here. Write "3 mm".',
    ),
    (
        'diameter = "3 mm"\n',
        "",
        "material[1].diameter: is missing. A bead needs diameter, metal and bore.",
    ),
    (
        "hook = 12\n",
        "",
        "material[2].hook: is missing. A hook needs its trade size, such as hook = 14.",
    ),
    (
        'gape = "4.9 mm"',
        'diameter = "4.9 mm"',
        "material[2].diameter: belongs to a bead, not to a hook. Take it out.",
    ),
    (
        'gape = "4.9 mm"',
        'mass = "30 mg +- 1 mg"',
        'material[2].mass: of a hook is kept without uncertainty. Leave out what follows "+-".',
    ),
    ("pack = 25\n", "", "material[1].pack: is missing. Give pack and price together, or neither."),
    (
        "\nmaterial = " + '"wi-1"',
        "",
        'material[4].code: nothing uses "wi-1". Take it out, or name it in a step or a variant.',
    ),
    (
        "[pattern]",
        "[patern]",
        "patern: is not known. Did you mean pattern?",
    ),
    (
        "[[step]]",
        "[[extra]]",
        "extra: is not known. Use about, pattern, step, variant, material.",
    ),
    (
        ABOUT,
        'about = "a\\nb"',
        "about: runs over several lines. Keep it to one; use pattern.notes for more.",
    ),
    (ABOUT, f"about = {'[' * 100_000}", DEEP),
    (ABOUT, f"about.{'a.' * 400_000}a = 1", DEEP),
    (ABOUT, "about" + ' . "x"' * 100_000 + " = 1", DEEP),
    (ABOUT, f'about = "{"x" * 1_000_000}"', "is larger than 1 MB. Recipes are short texts."),
    (
        STYLE,
        f'{STYLE}\nphotos = ["../a.jpg"]',
        'pattern.photos[1]: "../a.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["C:a.jpg"]',
        'pattern.photos[1]: "C:a.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a\\\\b.jpg"]',
        'pattern.photos[1]: "a\\b.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a\\u0000.jpg"]',
        f'pattern.photos[1]: "a?.jpg" holds a control character. {PLAIN}',
    ),
    (STYLE, f'{STYLE}\nphotos = [".."]', f'pattern.photos[1]: ".." is not an ordinary file name. {PLAIN}'),
    (
        STYLE,
        f'{STYLE}\nphotos = ["con.jpg"]',
        f'pattern.photos[1]: "con.jpg" is not an ordinary file name. {PLAIN}',
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a.gif"]',
        f'pattern.photos[1]: "a.gif" does not end in .jpg, .jpeg or .png. {PLAIN}',
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a.jpg", "A.jpg"]',
        f'pattern.photos[2]: "A.jpg" is named twice. {PLAIN}',
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), REFUSED, ids=[f"{i}" for i in range(len(REFUSED))])
def test_refused_with_file_key_and_cure(old: str, new: str, message: str) -> None:
    assert old in SMALL
    with pytest.raises(FlybenchError) as told:
        read_recipe(SMALL.replace(old, new, 1).encode(), FILE)
    assert str(told.value) == f"{FILE}: {message}"


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(FlybenchError) as told:
        read_recipe(b"about = 1\n\xff\xfe", FILE)
    assert str(told.value) == f"{FILE}: byte 11 is not UTF-8. Save the file as text in UTF-8."
    with pytest.raises(tomllib.TOMLDecodeError) as reason:
        tomllib.loads("about = open")  # the words in brackets are the standard library's
    with pytest.raises(FlybenchError) as told:
        read_recipe(b"about = open", FILE)
    assert str(told.value) == f"{FILE}: is not TOML ({reason.value}). Correct that place."
    with pytest.raises(FlybenchError) as told:
        read_recipe(b"", FILE)
    assert (
        str(told.value)
        == f"{FILE}: pattern: is missing. Begin the recipe with [pattern], with code, name and style."
    )
