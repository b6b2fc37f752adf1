"""Letters of other scripts on labels: which typeface draws them, and the extra that they need."""

from __future__ import annotations

import sys
import unicodedata
from pathlib import Path

import matplotlib as mpl
import pypdfium2
import pytest
from label_pages import (
    HOSTILE,
    PLAIN,
    letters,
    refused,
    text_in,
)

from flybench.paper.label import typefaces, typesetting
from flybench.paper.label.content import Label
from flybench.paper.label.label_paper import (
    LABEL_PAPERS,
    label_paper_named,
)
from flybench.paper.label.pages import save_labels
from flybench.telling.printed import labels as telling


@pytest.mark.parametrize(
    ("sign", "named"),
    [
        ("\N{FISHING POLE AND FISH}", '"\N{FISHING POLE AND FISH}" U+1F3A3 FISHING POLE AND FISH'),
        ("\N{FLY}", '"\N{FLY}" U+1FAB0 FLY'),
        ("\U0010fffd", "U+10FFFD without a name"),
        ("\x07", "U+0007 without a name"),
    ],
)
def test_signs_without_a_face_are_refused(
    sign: str, named: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(typefaces, "system_fonts", lambda: ())
    assert refused(Label("N-1", f"good {sign}"), path=tmp_path / "labels.pdf") == (
        f"label text: no font here has the character {named}. "
        "Give a TrueType font that has it with --font FILE, or leave the character out."
    )


def test_scripts_that_need_joining_are_refused(tmp_path: Path) -> None:
    assert refused(Label("N-1", "निम्फ"), path=tmp_path / "labels.pdf") == (
        'label text: "न" U+0928 DEVANAGARI LETTER NA belongs to the Indian scripts, whose letters labels cannot join. '
        "Write the text in another script."
    )


def without_letters(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the extra of other letters impossible to import, as where it was not installed; a font of the system is there."""
    font = Path(mpl.get_data_path()) / "fonts" / "ttf" / "STIXGeneral.ttf"
    monkeypatch.setattr(typefaces, "system_fonts", lambda: (font,))
    for name in ("fontTools", "fontTools.ttLib", "fontTools.ttLib.ttCollection", "bidi", "arabic_reshaper"):
        monkeypatch.setitem(sys.modules, name, None)
    typesetting.drawn_order.cache_clear()
    typefaces.faces_in.cache_clear()
    typefaces.own_faces.cache_clear()


def test_latin_greek_and_cyrillic_need_no_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_letters(monkeypatch)
    paper, path = label_paper_named(LABEL_PAPERS[0]), tmp_path / "labels.pdf"
    labels = [PLAIN, Label("N-2", HOSTILE["Greek"]), Label("N-3", HOSTILE["Cyrillic"], note="Größe 12 ± œ")]
    save_labels(labels, paper, path, proof=True)
    assert "Größe 12 ± œ" in text_in(path, paper.place(2), 1)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("سلك", '"سلك" is written from right to left'),
        (
            "黑",
            'the built-in typeface of labels does not have the character "黑" U+9ED1 CJK UNIFIED IDEOGRAPH-9ED1',
        ),
    ],
)
def test_other_letters_name_the_extra_they_need(
    name: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_letters(monkeypatch)
    assert refused(Label("N-1", name), path=tmp_path / "labels.pdf") == (
        f"labels: {why}, and what other letters need is not installed. "
        'Install it with: pip install "flybench[letters]"'
    )


def test_a_font_of_ones_own_names_the_extra_it_needs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_letters(monkeypatch)
    font = Path(mpl.get_data_path()) / "fonts" / "ttf" / "STIXGeneral.ttf"
    assert refused(PLAIN, path=tmp_path / "labels.pdf", font=font) == (
        "labels: a typeface of your own (--font) was asked for, and what other letters need is not installed. "
        'Install it with: pip install "flybench[letters]"'
    )


@pytest.mark.slow
def test_built_in_faces_know_their_letters_and_heights() -> None:
    """As fontTools, other people's reader of font files, has them."""
    from fontTools.ttLib import TTFont

    plain, (bold, _) = typefaces.own_faces()[0][0], typefaces.own_faces()[1]
    for face, name in ((plain, "DejaVuSans.ttf"), (bold, "DejaVuSans-Bold.ttf")):
        tables = TTFont(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / name))
        signs, glyphs, units = tables.getBestCmap(), tables["glyf"], tables["head"].unitsPerEm
        for number in range(0x20, 0x3000):
            sign = chr(number)
            glyph = glyphs[signs[number]] if number in signs else None
            drawn = glyph is not None and (sign.isspace() or glyph.numberOfContours != 0)
            assert face.has(sign) == drawn, hex(number)
            if drawn and glyph.numberOfContours:
                assert face.reach(sign) == (glyph.yMin / units, glyph.yMax / units), hex(number)


@pytest.mark.slow
@pytest.mark.parametrize("source", ["user", "system"])
def test_other_fonts_fill_in_and_are_embedded(
    source: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    paper, path = label_paper_named(LABEL_PAPERS[0]), tmp_path / "labels.pdf"
    font = Path(mpl.get_data_path()) / "fonts" / "ttf" / "STIXGeneral.ttf"
    label = Label("N-1", "name \N{SCRIPT SMALL G}")  # a sign that the built-in face lacks
    monkeypatch.setattr(typefaces, "system_fonts", lambda: (font,) if source == "system" else ())
    given = font if source == "user" else None
    assert telling.remarks(save_labels([label], paper, path, font=given)) == []
    assert b"STIXGeneral" in path.read_bytes()
    assert "\N{SCRIPT SMALL G}" in text_in(path, paper.place(0))


def test_a_font_file_that_cannot_be_used_is_refused(tmp_path: Path) -> None:
    cure = "Give a TrueType file (.ttf or .ttc) that may be embedded in documents."
    none = tmp_path / "none.ttf"
    path = tmp_path / "labels.pdf"
    assert refused(PLAIN, path=path, font=none) == f"--font: there is no file {none}. {cure}"
    assert refused(PLAIN, path=path, font=Path(__file__)) == (
        f"--font: {Path(__file__)} is not a TrueType font that can be used. {cure}"
    )


def test_chinese_is_kept_as_text_and_the_user_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(typefaces, "system_fonts", lambda: ())
    paper, path, label = label_paper_named(LABEL_PAPERS[0]), tmp_path / "labels.pdf", Label("N-1", "黑色若蟲")
    printed = save_labels([label], paper, path)
    assert "黑色若蟲" in text_in(path, paper.place(0))
    assert telling.remarks(printed) == [
        "The PDF does not hold the shapes of 黑色若蟲: a viewer or printer without a typeface that has them shows empty "
        "boxes or nothing. Look at it before you print, or give a TrueType font with --font FILE."
    ]


def test_right_to_left_text_is_joined_and_reversed(tmp_path: Path) -> None:
    paper, path = label_paper_named(LABEL_PAPERS[0]), tmp_path / "labels.pdf"
    save_labels([Label("N-1", "سلك", note="אבג")], paper, path)
    places = {unicodedata.normalize("NFKC", sign): area.x for sign, area, _ in letters(path)}
    assert places["א"] > places["ב"] > places["ג"]
    assert places["س"] > places["ل"] > places["ك"]
    joined = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_range()
    # Unicode chart FE70-FEFF: seen initial FEB3, lam medial FEE0, kaf final FEDA.
    assert {"\ufeb3", "\ufee0", "\ufeda"} <= set(joined) or "سلك" in joined


@pytest.mark.parametrize(
    ("text", "drawn"),
    [
        ("אב (14)", "(14) בא"),
        ("אב ((ג))", "((ג)) בא"),
        ("abc (א) [ב] 12", "abc (א) [ב] 12"),
        ("אב <x>", "<x> בא"),
        ("(אב) <x>", "<x> (בא)"),
    ],
)
def test_brackets_open_towards_what_they_hold(text: str, drawn: str) -> None:
    """By the rules of Unicode Standard Annex 9, worked out by hand: N0 for brackets, L2 for the order, L4 for turning."""
    assert typesetting.drawn_order(text) == drawn
