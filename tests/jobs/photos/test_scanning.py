"""Photos of labels in the place of codes: one label, many, none, another kind of code; whole messages."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from console import Said, flybench
from demo_catalog import demo_catalog, rows_of
from photographed import photo, sheet
from PIL import Image
from sinking_shop import flat

from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]
COUNT = "Count those on the photo: one that is too small, blurred or cut off is not seen."
AGAIN = "Take the photo again, nearer and sharper, with all of each label on it"


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", "catalog.sqlite")
    return demo_catalog(Path("catalog.sqlite"))


def _taken(name: str, *texts: str) -> str:
    Image.fromarray(photo(sheet(texts, 2), 0.05, 4.0, 0.8)).save(name)
    return name


def _ran(capsys: Capture, *words: str) -> Said:
    said = flybench(capsys, *words)
    assert said.code == 0, (words, said.err)
    return said


def test_labels_are_told_with_what_they_belong_to(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "fly", "add", "F9", "--variant", "reed-slip-12")
    _taken("a.jpg", "reed-slip-12", "https://flies.example/hk-jig-12", "F9", "nobody")
    said = _ran(capsys, "scan", "a.jpg")
    assert [" ".join(line.split()) for line in said.out.splitlines()] == [
        "code kind name on the label",
        "reed-slip-12 variant Reed Slip reed-slip-12",
        "hk-jig-12 material Jig hook 12 https://flies.example/hk-jig-12",
        "F9 fly Reed Slip F9",
        "unknown nobody",
    ]
    assert (
        flat(said.err)
        == f'a.jpg: 4 labels were read. {COUNT} Nothing in the catalog has the code of the label "nobody".'
    )
    told = json.loads(_ran(capsys, "scan", "a.jpg", "--json").out)
    assert told["labels"][0] == {
        "photo": "a.jpg",
        "text": "reed-slip-12",
        "kind": "variant",
        "code": "reed-slip-12",
        "name": "Reed Slip",
    }
    assert told["unread"] == {}


def test_a_photo_stands_for_its_codes(catalog: Catalog, capsys: Capture) -> None:
    _taken("a.jpg", "reed-slip-12", "moss-hackle-12", "reed-slip-12")
    _taken("one.jpg", "https://flies.example/reed-slip-12")
    _ran(capsys, "stock", "delivery", "scan:a.jpg=5")
    said = _ran(capsys, "stock", "sale", "scan:a.jpg", "--json")
    assert flat(said.err).startswith(f"a.jpg: 3 labels were read. {COUNT}")
    done = json.loads(said.out)
    assert [(one["code"], one["amount"], one["after"]) for one in done["lines"]] == [
        ("reed-slip-12", -1, 9),
        ("moss-hackle-12", -1, 4),
        ("reed-slip-12", -1, 8),
    ]
    assert json.loads(_ran(capsys, "variant", "show", "scan:one.jpg", "--json").out)["code"] == "reed-slip-12"
    _ran(capsys, "fly", "add", "F9", "--variant", "scan:one.jpg")
    _taken("two.jpg", "reed-slip-12", "moss-hackle-12")
    _ran(capsys, "stock", "take", "--yes", "scan:two.jpg=18")
    assert "reed-slip-12" in (told := _ran(capsys, "pattern", "make-list", "scan:two.jpg=2").out)
    assert "moss-hackle-12" in told


def test_photos_that_are_of_no_use(catalog: Catalog, capsys: Capture) -> None:
    _taken("two.jpg", "reed-slip-12", "moss-hackle-12")
    _taken("none.png", "")
    _taken("option.png", "--yes")
    _taken("unseen.png", "reed-slip-12\u202e")
    Path("text.jpg").write_text("not a picture")
    flat = sheet(["reed-slip-12", "moss-hackle-12"], 2)
    flat[60:110, 60:110] = 235
    Image.fromarray(photo(flat, blur=0.5)).save("covered.png")
    Path("clip.mp4").write_bytes(b"")
    before = rows_of(catalog, ())
    for words, message in (
        (
            "variant show scan:two.jpg",
            "scan:two.jpg: the photo shows 2 labels, and flybench variant show takes one. Take a photo of one label.",
        ),
        (
            "fly add F9 --variant scan:two.jpg",
            "scan:two.jpg: the photo shows 2 labels, and --variant takes one. Take a photo of one label.",
        ),
        (
            "stock log scan:two.jpg",
            "scan:two.jpg: the photo shows 2 labels, and flybench stock log takes one. Take a photo of one label.",
        ),
        (
            "stock in scan:two.jpg 3",
            "scan:two.jpg: the photo shows 2 labels, and flybench stock in takes one. Take a photo of one label.",
        ),
        (
            "print labels scan:two.jpg",
            "scan:two.jpg: the photo shows 2 labels, and flybench print labels takes one. Take a photo of one label.",
        ),
        (
            "stock take --yes --note scan:two.jpg",
            "scan:two.jpg: the photo shows 2 labels, and --note takes one. Take a photo of one label.",
        ),
        ("stock sale scan:none.png", f"none.png: no QR code of a label was found on it. {AGAIN}."),
        (
            "stock sale scan:covered.png",
            f"covered.png: 1 of 2 QR codes on it cannot be read. {AGAIN}, or type the codes.",
        ),
        (
            "stock take scan:option.png",
            'option.png: a QR code on it holds "--yes", which is not from a label. Leave it off the photo.',
        ),
        (
            "stock take scan:unseen.png",
            'unseen.png: a QR code on it holds "reed-slip-12?", which is not from a label. Leave it off the photo.',
        ),
        (
            "stock sale scan:text.jpg",
            "text.jpg: cannot be read as a photo. Save it again as JPEG or PNG.",
        ),
        ("stock sale scan:", "scan: names no photo. Write the name of one behind it, as in scan:label.jpg"),
        (
            "stock sale scan:two.jpg@2.50",
            "scan:two.jpg@2.50: a price stands behind an amount. For one of each label write scan:two.jpg=1@2.50",
        ),
        ("scan gone.jpg", "gone.jpg: there is no such file. Name a photo of labels."),
        ("scan clip.mp4", "clip.mp4: is not a photo by its name. Name a JPEG or PNG of labels."),
    ):
        said = flybench(capsys, *words.split())
        assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n"), words
    assert rows_of(catalog, ()) == before
    assert _ran(capsys, "scan", "covered.png").err == (
        "covered.png: 1 more QR code on it cannot be read. Take the photo again, nearer\nand sharper.\n"
    )


def test_a_blank_picture_of_any_kind(catalog: Catalog, capsys: Capture) -> None:
    for mode in ("1", "I;16", "RGBA", "P"):
        size = (60, 40)
        picture = (
            Image.fromarray(np.zeros((40, 60), dtype=np.uint16)) if mode == "I;16" else Image.new(mode, size)
        )
        picture.save("blank.png")
        said = flybench(capsys, "scan", "blank.png")
        assert (said.code, said.err) == (
            1,
            f"Error: blank.png: no QR code of a label was found on it. {AGAIN}.\n",
        )


def test_a_label_with_the_codes_of_two_flies_moves_neither(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "stock", "delivery", "moss-hackle-12=3", "moss-hackle-12s=3")
    before = rows_of(catalog, ())
    for held in ("moss-hackle-12 reed-slip-12", "https://flies.example/moss-hackle-12 REED-SLIP-12"):
        _taken("both.png", held)
        said = flybench(capsys, "stock", "sale", "scan:both.png")
        assert (said.code, said.out, said.err) == (
            1,
            "",
            f"Error: {held}: holds the codes of two things, moss-hackle-12 and reed-slip-12. Name each by its own code.\n",
        )
    assert rows_of(catalog, ()) == before
    _ran(capsys, "variant", "add", "hackle", "--pattern", "reed-slip", "--hook-code", "hk-jig-12")
    for held in ("moss-hackle-12 Moss Hackle Jig hook 12", "moss-hackle-12s moss-hackle-12 hk-jig-12"):
        _taken("one.png", held)
        _ran(capsys, "stock", "sale", "scan:one.png")
