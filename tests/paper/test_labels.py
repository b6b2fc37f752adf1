"""Printed labels hold what they were given, and never clip, guess or draw empty boxes.

All flies, codes and prices here are invented.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from label_pages import (
    HOSTILE,
    LEAST_TYPE,
    MM,
    PLAIN,
    POINT,
    SCALE,
    SPEED,
    URL,
    cut,
    holds,
    ink_outside,
    letters,
    page_of,
    picture,
    refused,
    text_in,
)

from flybench.errors import BadValueError
from flybench.paper.label.content import Label, LabelSpeed
from flybench.paper.label.label_paper import (
    LABEL_PAPERS,
    Area,
    label_paper_named,
    label_paper_of_size,
)
from flybench.paper.label.marks import LEAST_MODULE, QUIET, qr_grid
from flybench.paper.label.pages import PrintedLabels, save_labels
from flybench.telling.printed import labels as telling


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-5x13-38x21", "a4-9x22-20x12", "letter-4x20-44x13"])
def test_hostile_texts_stay_inside_and_readable(name: str, tmp_path: Path) -> None:
    paper, path = label_paper_named(name), tmp_path / "labels.pdf"
    labels = [
        Label(f"N-{number:03d}", text, text, text, text, text, URL, speed, "31.5 cm/s" if speed else None)
        for number, text in enumerate(HOSTILE.values())
        for speed in (SPEED, LabelSpeed(0.314, 0.004, (0.22, 0.43)), None)
    ]
    printed = save_labels(labels, paper, path)
    assert (printed.count, printed.pages) == (len(labels), 1)
    assert ink_outside(path, paper) == 0
    safe = [paper.safe(number) for number in range(len(labels))]
    found = letters(path)
    assert len(found) > 10 * len(labels)
    for sign, area, size in found:
        middle = Area(area.x + area.width / 2, area.y + area.height / 2, 0.0, 0.0)
        home = [place for place in safe if holds(place, middle, 0.0)]
        assert len(home) == 1, sign
        assert holds(home[0], area, 0.1 * MM), sign
        assert size >= LEAST_TYPE - 1e-3
    for number, label in enumerate(labels):
        text = text_in(path, paper.place(number))
        assert label.code in text
        if label.speed is None:
            assert "not measured" in text
            assert "about" not in text
            continue
        assert "about 31 cm/s" in text
        assert "k = 2" not in text
        if label.speed.predicted:
            assert "predicted, 22 to 43 cm/s" in text
        else:
            assert "31.0 to 31.8 cm/s" in text
            assert "predicted" not in text


def test_lines_do_not_run_into_each_other(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    save_labels([PLAIN], paper, path)
    areas = [area for _, area, _ in letters(path)]
    for number, one in enumerate(areas):
        for other in areas[number + 1 :]:
            across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
            down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
            assert min(across, down) < 0.05 * MM


PHOTO_DPI = 250
"""Dots an inch at which QR codes are read back: a till's camera at arm's length sees no more (judgement)."""
METRE_AWAY = 0.004
"""Height of a capital that is read from a metre [m]: 1/250 of the distance (common practice, no source)."""


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-2x7-99x38", "letter-3x10-66x25"])
def test_the_speed_is_the_largest_thing_and_the_code_the_smallest(name: str, tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    label = Label("QQQQ", "nnnn", "hook", "bead", "8", "yyyy", None, SPEED, "25-31.5 cm/s")
    save_labels([label], label_paper_named(name), path)
    found = letters(path)
    number = [(area, size) for sign, area, size in found if size == max(size for _, _, size in found)]
    assert len(number) == 2  # the 31 of 31.4
    assert all(area.height > METRE_AWAY for area, _ in number)
    assert {size for sign, _, size in found if sign == "Q"} == {min(size for _, _, size in found)}


def test_all_labels_of_a_sheet_have_one_type_size(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    names = ["Short", "A name of a good many words", "W" * 90, "Middling name"]
    bands = ["25-31.5? cm/s", "10-12.5 cm/s", None, "80 up cm/s"]
    labels = [
        Label(f"X-{number}", name, "hook 14", "bead 3 mm", "4.50", "", URL, SPEED, band)
        for number, (name, band) in enumerate(zip(names, bands, strict=True))
    ]
    printed = save_labels(labels, paper, path)
    assert printed.left_out == {}
    assert printed.shortened == {"X-2": ("name",)}
    sizes = []
    for number in range(len(labels)):
        place = paper.place(number)
        sizes.append({round(size, 3) for _, area, size in letters(path) if holds(place, area, 0.0)})
    assert sizes[0] == sizes[1] == sizes[3]
    assert sizes[2] < sizes[0]  # the same but for the band, which it has none of


def test_qr_code_and_safety_line_are_the_last_to_go(tmp_path: Path) -> None:
    label = Label(
        "N-014", "Copper", "hook 14", "3 mm", "4.50", "dry", "N-014", SPEED, "31.5 cm/s", "Holds lead"
    )
    order = ["note", "price", "bead", "hook", "band", "name", "QR code", "safety line"]
    dropped = []
    for height in np.arange(34, 8, -1):
        paper = label_paper_of_size("a4", 4, 5, f"40x{height} mm")
        parts = save_labels([label], paper, tmp_path / "labels.pdf").left_out.get("N-014", ())
        assert list(parts) == order[: len(parts)]
        dropped.append(len(parts))
    assert min(dropped) == 0
    assert max(dropped) >= 7


@pytest.mark.slow
@pytest.mark.parametrize("name", LABEL_PAPERS)
def test_every_qr_code_of_a_sheet_reads_back(name: str, tmp_path: Path) -> None:
    """On paper whose labels have no room for one, all labels say that they left it out."""
    paper, path = label_paper_named(name), tmp_path / "labels.pdf"
    count = min(paper.per_page, 24)
    labels = [
        Label(f"fly-{number:02d}", "Nymph", speed=SPEED, band="25-31.5? cm/s", qr=f"fly-{number:02d}")
        for number in range(count)
    ]
    left_out = save_labels(labels, paper, path).left_out
    if all("QR code" in left_out.get(label.code, ()) for label in labels):
        assert name == "a4-9x22-20x12"
        return
    page, reader = page_of(path).render(scale=PHOTO_DPI / 72).to_pil().convert("L"), cv2.QRCodeDetector()
    read = []
    for number in range(count):
        place, dots = paper.place(number), PHOTO_DPI / 0.0254
        sides = (place.x, place.y, place.x + place.width, place.y + place.height)
        read.append(reader.detectAndDecode(np.asarray(page.crop([round(side * dots) for side in sides])))[0])
    assert read == [label.qr for label in labels]


@pytest.mark.parametrize("name", ["letter-4x20-44x13", "a4-5x13-38x21"])
def test_all_labels_of_a_sheet_show_their_code_or_none_does(name: str, tmp_path: Path) -> None:
    paper = label_paper_named(name)
    codes = ["slip-12", "gatepost-whisker-12", "a-very-long-code-of-a-fly-in-size-12"]
    labels = [Label(code, "Nymph", speed=SPEED, band="25-31.5? cm/s", qr=code) for code in codes]
    labels.append(Label("no-code", "Nymph", speed=SPEED))  # it was printed without one, and misses nothing
    left_out = save_labels(labels, paper, tmp_path / "labels.pdf").left_out
    missing = {code for code in codes if "QR code" in left_out.get(code, ())}
    assert missing in (set(), set(codes))
    assert "QR code" not in left_out.get("no-code", ())
    if name.startswith("letter"):
        assert missing, "not even the long code has no room"
        alone = save_labels(labels[:1], paper, tmp_path / "alone.pdf").left_out
        assert "QR code" not in alone.get("slip-12", ())


def test_the_band_has_no_box_that_looks_empty(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    paper = label_paper_named("a4-2x4-99x68")
    labels = [PLAIN, Label("N-2", "Other", speed=SPEED, band="12.5-16? cm/s", qr="N-2")]
    save_labels(labels, paper, path)
    safe = paper.safe(0)
    corner = cut(picture(path), Area(safe.x + 0.7 * safe.width, safe.y, 0.3 * safe.width, 0.5 * safe.height))
    rows = np.flatnonzero((corner < 128).mean(axis=1) > 0.4)
    box = (rows[-1] - rows[0] + 1) / SCALE
    band = [
        size
        for sign, area, size in letters(path)
        if holds(safe, area, 0.0) and area.x > safe.x + 0.7 * safe.width
    ]
    number, unit = max(band) * POINT, min(band) * POINT
    # a capital is 0.73 of its type; of number, unit and the white between them the box is little more than twice as tall
    assert box < 2.5 * (0.73 * number + 1.1 * unit)


def test_cut_marks_stand_at_the_corners_and_in_no_label(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-3x7-64x38"), tmp_path / "labels.pdf"
    save_labels([PLAIN], paper, path, cut_marks=True)
    image = picture(path)
    place, safe = paper.place(0), paper.safe(0)
    for x in (place.x, place.x + place.width):
        for y in (place.y, place.y + place.height):
            corner = cut(image, Area(x - 0.5 * MM, y - 0.5 * MM, MM, MM))
            assert (corner < 160).any()
    save_labels([PLAIN], paper, path)
    plain = picture(path)
    assert np.array_equal(cut(plain, safe), cut(image, safe))
    assert ink_outside(path, paper) == 0


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4-3x8-70x37", "letter-3x10-66x25"])
@pytest.mark.parametrize("text", [URL, "N-014", "fly 14: dry well, Größe 12"])
def test_qr_code_reads_back(name: str, text: str, tmp_path: Path) -> None:
    paper, path = label_paper_named(name), tmp_path / "labels.pdf"
    save_labels([Label("N-014", "Copper nymph", speed=SPEED, band="31.5 cm/s", qr=text)], paper, path)
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(cut(picture(path), paper.place(0)))
    assert read == text


@pytest.mark.slow
def test_qr_modules_are_large_enough_and_stand_in_white(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-4x10-49x25"), tmp_path / "labels.pdf"
    save_labels([Label("N-014", qr=URL)], paper, path)
    grid = qr_grid(URL, "N-014")
    # ISO/IEC 18004: a symbol of version V has 17 + 4 V modules a side; 27 bytes at level M need version 3 (42 bytes).
    assert len(grid) == 17 + 4 * 3
    safe = paper.safe(0)
    right = cut(picture(path), Area(safe.x + safe.width * 0.68, safe.y, safe.width * 0.32, safe.height)) < 128
    columns, rows = np.flatnonzero(right.any(axis=0)), np.flatnonzero(right.any(axis=1))
    module = (columns[-1] - columns[0] + 1) / SCALE / len(grid)
    assert module >= LEAST_MODULE - 0.5 / SCALE / len(grid)
    assert (rows[-1] - rows[0] + 1) / SCALE / len(grid) == pytest.approx(module, rel=0.01)
    assert right.shape[1] - 1 - columns[-1] >= (QUIET * module) * SCALE - 2


def test_qr_code_goes_where_modules_would_be_too_small(tmp_path: Path) -> None:
    paper, long = label_paper_named("a4-9x22-20x12"), "https://flies.example/" + "n" * 60
    printed = save_labels([Label("N-1", qr=long)], paper, tmp_path / "long.pdf")
    assert telling.remarks(printed) == ["The label of N-1 has no room for QR code."]
    assert refused(Label("N-1", qr="n" * 5000), paper=paper, path=tmp_path / "labels.pdf") == (
        '--qr: the text of the label "N-1" has 5000 characters, more than a QR code holds. '
        "Use a shorter text or address."
    )


def test_what_has_no_room_goes_in_the_stated_order(tmp_path: Path) -> None:
    order = ["note", "price", "bead", "hook", "band", "name"]
    label = Label(
        "N-014", "Copper nymph", "hook 14", "bead 3 mm", "4.50", "dry well", None, SPEED, "31.5 cm/s"
    )
    dropped = []
    for height in np.arange(30, 9, -1):
        paper = label_paper_of_size("a4", 4, 5, f"45x{height} mm")
        parts = save_labels([label], paper, tmp_path / "labels.pdf").left_out.get("N-014", ())
        assert list(parts) == order[: len(parts)]
        dropped.append(len(parts))
    assert dropped == sorted(dropped)
    assert len(set(dropped)) >= 3


@pytest.mark.slow
def test_no_number_is_cut_or_broken(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-5x13-38x21"), tmp_path / "labels.pdf"
    labels = [
        Label(
            "N-1", "Body of 24 turns" + " and 1234567890 more" * 9, "hook 14", f"{'m' * length} bead 2.875 mm"
        )
        for length in range(1, 50)
    ]
    save_labels(labels, paper, path)
    for number in range(len(labels)):
        words = text_in(path, paper.place(number)).replace("…", " ").split()
        numbers = {word for word in words if any(sign.isdigit() for sign in word)}
        assert numbers <= {"N-1", "24", "1234567890", "14", "2.875"}


def test_skip_and_many_pages(tmp_path: Path) -> None:
    paper, path = label_paper_named("letter-2x5-102x51"), tmp_path / "labels.pdf"
    labels = [Label(f"N-{number:03d}", speed=SPEED) for number in range(19)]
    assert save_labels(labels, paper, path, skip=3, proof=True, title="Drawer 4").pages == 4
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 4
    assert document.get_metadata_value("Title") == "Drawer 4"
    for number, label in enumerate(labels, start=3):
        page = 1 + number // 10
        assert text_in(path, paper.place(number), page).endswith(label.code)
    assert [text_in(path, paper.place(number), 1) for number in range(3)] == ["", "", ""]
    assert text_in(path, paper.place(2), 3) == ""
    assert save_labels(labels[:7], paper, path, skip=3).pages == len(pypdfium2.PdfDocument(path)) == 1
    for skip in (-1, 10):
        assert refused(*labels, paper=paper, path=tmp_path / "no.pdf", skip=skip) == (
            f"--skip: {skip} is outside 0 to 9. A page holds 10 labels."
        )
    assert refused(path=tmp_path / "no.pdf") == (
        "labels: there are none to print. Name flies, or ask for the page with --proof."
    )


def test_predicted_and_measured_differ_in_black_and_white(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    flies = [
        Label("N-1", "a", speed=LabelSpeed(0.2, 0.01, interval), band="20 cm/s")
        for interval in (None, (0.19, 0.21))
    ]
    save_labels(flies, paper, path)
    image = picture(path)
    dark = []
    for number in (0, 1):
        safe = paper.safe(number)
        corner = cut(image, Area(safe.x + 0.75 * safe.width, safe.y + MM, 0.24 * safe.width, 4 * MM))
        dark.append(float((corner < 128).mean()))
    assert dark[0] > 0.5 > dark[1]
    assert "predicted" in text_in(path, paper.place(1))
    assert "predicted" not in text_in(path, paper.place(0))


def test_a_band_without_a_speed_and_odd_speeds_are_refused() -> None:
    with pytest.raises(BadValueError) as caught:
        Label("N-1", band="20 cm/s")
    assert str(caught.value) == (
        'band: "N-1" has the band "20 cm/s" and no speed. Leave the band out, or give the speed it comes from.'
    )
    with pytest.raises(BadValueError) as caught:
        Label("  ", "nameless")
    assert str(caught.value) == 'code: the label of "nameless" has none. Give the fly a code.'
    for value, spread, key, number in (
        (0.0, 0.1, "sink speed", "0"),
        (-0.2, 0.1, "sink speed", "-0.2"),
        (float("nan"), 0.1, "sink speed", "nan"),
        (0.2, 0.0, "sink speed's uncertainty", "0"),
        (0.2, float("inf"), "sink speed's uncertainty", "inf"),
    ):
        with pytest.raises(BadValueError) as caught:
            LabelSpeed(value, spread)
        assert str(caught.value) == f"{key}: {number} m/s is not above zero. Measure the fly again."


def test_what_many_labels_lack_is_said_once() -> None:
    same = {f"N-{number}": ("QR code",) for number in range(1, 7)}
    printed = PrintedLabels(7, 1, same | {"N-7": ("note",)}, {"N-1": ("name",), "N-2": ("name",)}, "")
    assert telling.remarks(printed) == [
        "The labels of N-1, N-2, N-3, N-4 and 2 more have no room for QR code.",
        "The label of N-7 has no room for note.",
        "The labels of N-1 and N-2 show less than all of name.",
    ]


def test_a_code_that_cannot_fit_is_refused(tmp_path: Path) -> None:
    long, paper = "W" * 60, label_paper_named("a4-9x22-20x12")
    assert refused(Label(long, speed=SPEED), paper=paper, path=tmp_path / "labels.pdf") == (
        f'label: code and speed of "{long}" do not fit the 18 x 10 mm that can be printed on. '
        "Use larger labels or a shorter code."
    )


def test_what_was_printed_in_words_and_for_machines() -> None:
    left_out, shortened = (
        {"N-014": ("note", "price", "QR code")},
        {"N-014": ("name",), "N-2": ("hook and bead",)},
    )
    printed, path = PrintedLabels(2, 1, left_out, shortened, "黑"), Path("labels.pdf")
    assert telling.lines(printed, path) == [
        "2 labels on 1 page: labels.pdf. Print it at 100 %, without fitting it to the\npage."
    ]
    assert telling.record(printed, path) == {
        "file": "labels.pdf",
        "labels": 2,
        "pages": 1,
        "left_out": {"N-014": ["note", "price", "QR code"]},
        "shortened": {"N-014": ["name"], "N-2": ["hook and bead"]},
        "signs_not_embedded": "黑",
        "retired": [],
        "weighings_that_contradict_parts": [],
    }
    assert telling.remarks(printed)[:3] == [
        "The label of N-014 has no room for note, price and QR code.",
        "The label of N-014 shows less than all of name.",
        "The label of N-2 shows less than all of hook and bead.",
    ]


def told(speed: LabelSpeed) -> list[str]:
    return [text.replace("\N{NO-BREAK SPACE}", " ") for text in (speed.about, speed.between, speed.imperial)]


def test_a_speed_in_words() -> None:
    """Whole cm/s from 10 on, tenths below; an inch is 2.54 cm, so 20 cm/s are 7.9 in/s. No ± and no k on a label."""
    assert told(LabelSpeed(0.2, 0.05, (0.12, 0.31))) == ["20", "12 to 31 cm/s", "about 7.9 in/s"]
    assert told(LabelSpeed(0.094, 0.02, (0.071, 0.122))) == ["9.4", "7.1 to 12.2 cm/s", "about 3.7 in/s"]
    assert told(LabelSpeed(0.2797, 0.004)) == ["28", "27.5 to 28.4 cm/s", "about 11 in/s"]
    assert told(LabelSpeed(0.2868, 0.02)) == ["29", "26 to 31 cm/s", "about 11 in/s"]


def test_a_label_names_the_water_where_it_is_told(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    speeds = [
        LabelSpeed(0.2, 0.01, None, 281.15),
        LabelSpeed(0.2, 0.03, (0.15, 0.25), 281.15),
        LabelSpeed(0.2, 0.01),
    ]
    save_labels([Label("N-1", speed=speed) for speed in speeds], paper, path)
    assert "in 8 °C" in text_in(path, paper.place(0))
    assert "predicted, 15 to 25 cm/s; in 8 °C" in text_in(path, paper.place(1))
    assert "°C" not in text_in(path, paper.place(2))
