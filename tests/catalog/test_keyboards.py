"""What a hand scanner types on another keyboard: against the tables of the X Window System, where they are installed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from shop import shop

from flybench.catalog.search.keyboards import as_meant
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant

SYMBOLS = Path("/usr/share/X11/xkb/symbols")
KEYS = {  # keys of a code: their names in the tables, and the sign on a keyboard of the United States
    "AE01": "1", "AE02": "2", "AE03": "3", "AE10": "0", "AE11": "-", "AD01": "q", "AD06": "y", "AC01": "a", "AB01": "z"
}  # fmt: skip
NAMES = {
    "ampersand": "&", "eacute": "é", "quotedbl": '"', "agrave": "à", "parenright": ")", "ssharp": "ß", "plus": "+",
    "apostrophe": "'",
}  # fmt: skip


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return shop(tmp_path / "catalog.sqlite")


@pytest.mark.parametrize("country", ["de", "fr", "es", "it", "be"])
def test_keys_are_where_the_tables_say(country: str) -> None:
    if not (SYMBOLS / country).exists():
        pytest.skip("the keyboard tables of the X Window System (xkb-data) are not installed")
    typed = "".join(_sign(country, key) for key in KEYS)
    assert "".join(KEYS.values()) in as_meant(typed)


def _sign(country: str, key: str) -> str:
    """Return the sign of a key without shift, of the basic layout or the Latin one that it rests on."""
    basic = re.search(r'xkb_symbols "basic"(.*?)\n};', (SYMBOLS / country).read_text(), re.DOTALL)
    assert basic is not None
    for text in (basic[1], *_resting_on(basic[1])):
        found = re.search(rf"key\s*<{key}>\s*{{[^\n]*?(?<!\w)\s*\[\s*(\w+)", text)
        if found is not None:
            return NAMES.get(found[1], found[1])
    raise AssertionError(key)


def _resting_on(text: str) -> list[str]:
    latin = (SYMBOLS / "latin").read_text()
    found = []
    for variant in [*re.findall(r'include "latin(?:\((\w+)\))?"', text), "basic"]:
        part = re.search(rf'xkb_symbols "{variant or "basic"}"(.*?)\n}};', latin, re.DOTALL)
        assert part is not None
        found.append(part[1])
    return found


@pytest.mark.parametrize(
    "typed",
    [
        "MILLß28ß14",  # German
        "mill)28)14".replace("28", "é_").replace("14", "&'").replace("m", ","),  # French, shift not pressed
        "MILL'28'14",  # Spanish, Italian, Swiss
        "MILL+28+14",  # Swedish, Norwegian, Danish
        "httpsÖ--flies.example-MILLß28ß14",
        "MILLß28ß14 Mill Pond",
    ],
)
def test_a_scanner_on_another_keyboard_is_understood(catalog: Catalog, typed: str) -> None:
    with catalog.reading() as session:
        assert named(session, Variant, typed).code == "MILL-28-14"


@pytest.mark.parametrize(
    "typed", ["MILL-28-15", "ßß", "M&", "", " ", "ß", "MILL/28/14", "Ä", "x" * 5000, "M1ß"]
)
def test_what_means_nothing_stays_unknown(catalog: Catalog, typed: str) -> None:
    with catalog.reading() as session:
        assert named(session, Variant, typed) is None
        assert named(session, Fly, typed) is None


def test_plain_codes_are_never_taken_for_others() -> None:
    assert as_meant("moss-hackle-12") == as_meant("XY7") == []
