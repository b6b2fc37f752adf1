"""Printed labels are true to scale, hold what they were given, and never clip, guess or draw empty boxes.

All flies, codes and prices here are invented.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

import cv2
import matplotlib as mpl
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.paper.label import fonts as label_fonts
from flybench.paper.label.pages import Label, Speed, label_notes, save_labels
from flybench.paper.label.papers import PAPERS, PRESETS, custom_sheet, parse_pair, sheet_named
from flybench.paper.label.proof import BAR, crosses
from flybench.paper.label.qr import LEAST_MODULE, QUIET, qr_grid
from flybench.paper.label.sheet import PRINTABLE, Area, LabelSheet

MM = 0.001
DPI = 600
SCALE = DPI / 0.0254
POINT = 0.0254 / 72
LEAST_TYPE = 5.0
URL = "https://flies.example/N-014"
SPEED = Speed(0.314, 0.004)
PLAIN = Label(
    "N-014", "Copper drawer nymph", "hook 14", "bead 3 mm", "4.50", "dry well", URL, SPEED, "31.5 cm/s"
)
HOSTILE = {
    "200 letters": "w" * 200,
    "words": "a long name with a good many words in it that never seems to come to an end " * 3,
    "Greek": "Μαύρη νύμφη με χάλκινο σύρμα",
    "Cyrillic": "Чёрная нимфа с медной проволокой",
    "Arabic": "حورية سوداء بسلك نحاسي",
    "Hebrew": "נִימְפָה שחורה (14)",
    "Chinese": "黑色若蟲配銅線與鎢珠頭",
    "stacked marks": "Ç̌ạ̈ñ̃ĝ́ " * 5,
}
Picture = NDArray[np.uint8]


def page_of(path: Path, number: int = 0) -> pypdfium2.PdfPage:
    return pypdfium2.PdfDocument(path)[number]


def picture(path: Path, number: int = 0) -> Picture:
    return np.asarray(page_of(path, number).render(scale=DPI / 72).to_pil().convert("L"))


def cut(image: Picture, area: Area) -> Picture:
    """Return the pixels of an area of the page [m]."""
    top, left = round(area.y * SCALE), round(area.x * SCALE)
    return image[top : top + round(area.height * SCALE), left : left + round(area.width * SCALE)]


def text_in(path: Path, area: Area, number: int = 0) -> str:
    """Return the text whose letters lie in an area of the page [m]."""
    page = page_of(path, number)
    height = page.get_height()
    sides = (area.x, height * POINT - area.y - area.height, area.x + area.width, height * POINT - area.y)
    left, bottom, right, top = (side / POINT for side in sides)
    return " ".join(page.get_textpage().get_text_bounded(left, bottom, right, top).split())


def letters(path: Path, number: int = 0) -> list[tuple[str, Area, float]]:
    """Return every letter of a page, the area of its ink [m] and its type size [points]."""
    page = page_of(path, number)
    height, text = page.get_height(), page.get_textpage()
    found = []
    for index in range(text.count_chars()):
        sign = text.get_text_range(index, 1)
        if not sign.strip():
            continue
        left, bottom, right, top = text.get_charbox(index)
        size = pypdfium2.raw.FPDFText_GetFontSize(text.raw, index)
        area = Area(left * POINT, (height - top) * POINT, (right - left) * POINT, (top - bottom) * POINT)
        found.append((sign, area, size))
    return found


def holds(outer: Area, inner: Area, slack: float) -> bool:
    return (
        inner.x >= outer.x - slack
        and inner.y >= outer.y - slack
        and inner.x + inner.width <= outer.x + outer.width + slack
        and inner.y + inner.height <= outer.y + outer.height + slack
    )


def ink_outside(path: Path, sheet: LabelSheet, number: int = 0) -> int:
    """Return how many pixels of a page are not white outside all safe areas, one pixel of grace around each."""
    image = picture(path, number).copy()
    for label in range(sheet.per_page):
        area = sheet.safe(label)
        top, left = int(area.y * SCALE) - 1, int(area.x * SCALE) - 1
        bottom, right = int((area.y + area.height) * SCALE) + 2, int((area.x + area.width) * SCALE) + 2
        image[top:bottom, left:right] = 255
    return int((image < 250).sum())


def dark_lines(profile: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the middles [m] of the runs of pixels that are mostly dark."""
    dark = np.flatnonzero(profile > 0.5)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    return np.array([(run.mean() + 0.5) / SCALE for run in runs if len(run)])


@pytest.mark.parametrize("name", ["a4-5x13-38x21", "a4-2x7-99x38", "letter-3x10-66x25", "letter-4x20-44x13"])
def test_outlines_lie_where_the_sheet_says(name: str, tmp_path: Path) -> None:
    sheet = sheet_named(name)
    assert save_labels([], sheet, tmp_path / "proof.pdf", outlines=True) == 1
    image = picture(tmp_path / "proof.pdf")
    page = (image.shape[1] / SCALE, image.shape[0] / SCALE)
    assert page == pytest.approx(PAPERS[name.split("-", maxsplit=1)[0]], abs=0.05 * MM)
    for number in {0, sheet.columns - 1, sheet.per_page - 1}:
        area = sheet.place(number)
        around = Area(area.x - MM, area.y - MM, area.width + 2 * MM, area.height + 2 * MM)
        ink = cut(image, around) < 128
        across, down = dark_lines(ink.mean(axis=0)), dark_lines(ink.mean(axis=1))
        for side, lines in ((area.width, across), (area.height, down)):
            assert np.abs(lines - MM).min() < 0.2 * MM
            assert np.abs(lines - MM - side).min() < 0.2 * MM


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "letter-3x10-66x25"])
def test_bar_and_crosses_are_true_to_scale(name: str, tmp_path: Path) -> None:
    sheet = sheet_named(name)
    save_labels([], sheet, tmp_path / "proof.pdf", outlines=True)
    image = picture(tmp_path / "proof.pdf")
    row = image[round((sheet.page_height / 2 - 2 * MM) * SCALE)] < 128  # only the end ticks are so tall
    ticks = dark_lines(row.astype(float))
    ends = ticks[np.abs(ticks - sheet.page_width / 2) < 51 * MM]
    assert ends[-1] - ends[0] == pytest.approx(BAR, abs=0.1 * MM)
    for x, y in crosses(sheet):
        ink = cut(image, Area(x - 2 * MM, y - 2 * MM, 4 * MM, 4 * MM)) < 128
        assert dark_lines(ink.mean(axis=0)) == pytest.approx([2 * MM], abs=0.1 * MM)
        assert dark_lines(ink.mean(axis=1)) == pytest.approx([2 * MM], abs=0.1 * MM)
    words = page_of(tmp_path / "proof.pdf").get_textpage().get_text_range()
    (x0, y0), (x1, y1) = crosses(sheet)[0], crosses(sheet)[-1]
    assert f"{(x1 - x0) / MM:.1f} mm apart across and {(y1 - y0) / MM:.1f} mm down" in words


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-5x13-38x21", "a4-9x22-20x12", "letter-4x20-44x13"])
def test_hostile_texts_stay_inside_and_readable(name: str, tmp_path: Path) -> None:
    sheet, path = sheet_named(name), tmp_path / "labels.pdf"
    labels = [
        Label(f"N-{number:03d}", text, text, text, text, text, URL, speed, "31.5 cm/s" if speed else None)
        for number, text in enumerate(HOSTILE.values())
        for speed in (SPEED, Speed(0.314, 0.004, predicted=True), None)
    ]
    pages = save_labels(labels, sheet, path)
    assert pages == 1
    assert ink_outside(path, sheet) == 0
    safe = [sheet.safe(number) for number in range(len(labels))]
    found = letters(path)
    assert len(found) > 10 * len(labels)
    for sign, area, size in found:
        middle = Area(area.x + area.width / 2, area.y + area.height / 2, 0.0, 0.0)
        home = [place for place in safe if holds(place, middle, 0.0)]
        assert len(home) == 1, sign
        assert holds(home[0], area, 0.1 * MM), sign
        assert size >= LEAST_TYPE - 1e-3
    for number, label in enumerate(labels):
        text = text_in(path, sheet.place(number))
        assert label.code in text
        if label.speed is None:
            assert "not measured" in text
            assert "±" not in text
        else:
            assert "31.4 ± 0.4 cm/s" in text
            assert "12.36 ± 0.16 in/s" in text
            assert "k = 2" in text
            assert ("predicted" in text) == label.speed.predicted


def test_lines_do_not_run_into_each_other(tmp_path: Path) -> None:
    sheet, path = sheet_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    save_labels([PLAIN], sheet, path)
    areas = [area for _, area, _ in letters(path)]
    for number, one in enumerate(areas):
        for other in areas[number + 1 :]:
            across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
            down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
            assert min(across, down) < 0.05 * MM


def test_code_and_speed_are_the_largest_lines(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    save_labels(
        [Label("QQQQ", "nnnn", "hook", "bead", "8", "note", None, SPEED)], sheet_named(PRESETS[2]), path
    )
    sizes = {sign: size for sign, _, size in letters(path)}
    assert min(sizes["Q"], sizes["±"]) > 0
    assert sizes["Q"] == max(sizes.values())
    metric = [size for sign, _, size in letters(path) if sign == "±"]
    others = [size for sign, _, size in letters(path) if sign in "nhob8"]
    assert max(metric) > max(others)


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "letter-3x10-66x25"])
@pytest.mark.parametrize("text", [URL, "N-014", "fly 14: dry well, Größe 12"])
def test_qr_code_reads_back(name: str, text: str, tmp_path: Path) -> None:
    sheet, path = sheet_named(name), tmp_path / "labels.pdf"
    save_labels([Label("N-014", "Copper nymph", speed=SPEED, band="31.5 cm/s", qr=text)], sheet, path)
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(cut(picture(path), sheet.place(0)))
    assert read == text


def test_qr_modules_are_large_enough_and_stand_in_white(tmp_path: Path) -> None:
    sheet, path = sheet_named("a4-4x10-49x25"), tmp_path / "labels.pdf"
    save_labels([Label("N-014", qr=URL)], sheet, path)
    grid = qr_grid(URL, "N-014")
    # ISO/IEC 18004: a symbol of version V has 17 + 4 V modules a side; 27 bytes at level M need version 3 (42 bytes).
    assert len(grid) == 17 + 4 * 3
    safe = sheet.safe(0)
    right = cut(picture(path), Area(safe.x + safe.width * 0.68, safe.y, safe.width * 0.32, safe.height)) < 128
    columns, rows = np.flatnonzero(right.any(axis=0)), np.flatnonzero(right.any(axis=1))
    module = (columns[-1] - columns[0] + 1) / SCALE / len(grid)
    assert module >= LEAST_MODULE - 0.5 / SCALE / len(grid)
    assert (rows[-1] - rows[0] + 1) / SCALE / len(grid) == pytest.approx(module, rel=0.01)
    assert right.shape[1] - 1 - columns[-1] >= (QUIET * module) * SCALE - 2


def test_qr_code_goes_where_modules_would_be_too_small(tmp_path: Path) -> None:
    sheet, long = sheet_named("a4-9x22-20x12"), "https://flies.example/" + "n" * 60
    notes = label_notes([Label("N-1", qr=long)], sheet)
    assert notes == ("N-1: no room for QR code.",)
    with pytest.raises(BadValueError, match='qr: the text of the label "N-1" has 5000 characters'):
        save_labels([Label("N-1", qr="n" * 5000)], sheet, tmp_path / "labels.pdf")
    assert not (tmp_path / "labels.pdf").exists()


def test_what_has_no_room_goes_in_the_stated_order() -> None:
    order = ["note", "price", "bead", "hook", "band", "name"]
    label = Label(
        "N-014", "Copper nymph", "hook 14", "bead 3 mm", "4.50", "dry well", None, SPEED, "31.5 cm/s"
    )
    dropped = []
    for height in np.arange(30, 9, -1):
        for note in label_notes([label], custom_sheet("a4", 4, 5, f"45x{height} mm")):
            assert note.startswith("N-014: no room for ")
            parts = note.removeprefix("N-014: no room for ").rstrip(".").split(", ")
            assert parts == order[: len(parts)]
            dropped.append(len(parts))
    assert dropped == sorted(dropped)
    assert len(set(dropped)) >= 3


def test_no_number_is_cut_or_broken(tmp_path: Path) -> None:
    sheet, path = sheet_named("a4-5x13-38x21"), tmp_path / "labels.pdf"
    labels = [
        Label(
            "N-1", "Body of 24 turns" + " and 1234567890 more" * 9, "hook 14", f"{'m' * length} bead 2.875 mm"
        )
        for length in range(1, 50)
    ]
    save_labels(labels, sheet, path)
    for number in range(len(labels)):
        words = text_in(path, sheet.place(number)).replace("…", " ").split()
        numbers = {word for word in words if any(sign.isdigit() for sign in word)}
        assert numbers <= {"N-1", "24", "1234567890", "14", "2.875"}


def test_skip_and_many_pages(tmp_path: Path) -> None:
    sheet, path = sheet_named("letter-2x5-102x51"), tmp_path / "labels.pdf"
    labels = [Label(f"N-{number:03d}", speed=SPEED) for number in range(19)]
    assert save_labels(labels, sheet, path, skip=3, outlines=True, title="Drawer 4") == 4
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 4
    assert document.get_metadata_value("Title") == "Drawer 4"
    for number, label in enumerate(labels, start=3):
        page = 1 + number // 10
        assert text_in(path, sheet.place(number), page).startswith(label.code)
    assert [text_in(path, sheet.place(number), 1) for number in range(3)] == ["", "", ""]
    assert text_in(path, sheet.place(2), 3) == ""
    assert save_labels(labels[:7], sheet, path, skip=3) == len(pypdfium2.PdfDocument(path)) == 1
    for skip in (-1, 10):
        with pytest.raises(BadValueError, match=f"skip: {skip} is outside 0 to 9"):
            save_labels(labels, sheet, path, skip=skip)
    with pytest.raises(BadValueError, match="labels: there are none to print"):
        save_labels([], sheet, path)


def test_predicted_and_measured_differ_in_black_and_white(tmp_path: Path) -> None:
    sheet, path = sheet_named("a4-3x8-70x37"), tmp_path / "labels.pdf"
    flies = [
        Label("N-1", "a", speed=Speed(0.2, 0.01, predicted=sort), band="20 cm/s") for sort in (False, True)
    ]
    save_labels(flies, sheet, path)
    image = picture(path)
    dark = []
    for number in (0, 1):
        safe = sheet.safe(number)
        corner = cut(image, Area(safe.x + 0.75 * safe.width, safe.y + MM, 0.24 * safe.width, 4 * MM))
        dark.append(float((corner < 128).mean()))
    assert dark[0] > 0.5 > dark[1]
    assert "predicted" in text_in(path, sheet.place(1))
    assert "predicted" not in text_in(path, sheet.place(0))


def test_a_band_without_a_speed_and_odd_speeds_are_refused() -> None:
    with pytest.raises(BadValueError, match='band: "N-1" has the band "20 cm/s" and no speed'):
        Label("N-1", band="20 cm/s")
    with pytest.raises(BadValueError, match="code: the label"):
        Label("  ", "nameless")
    for value, spread in ((0.0, 0.1), (-0.2, 0.1), (float("nan"), 0.1), (0.2, 0.0), (0.2, float("inf"))):
        with pytest.raises(BadValueError, match="sink speed"):
            Speed(value, spread)


@pytest.mark.parametrize("sign", ["\N{FISHING POLE AND FISH}", "\N{FLY}", "\U0010fffd", "\x07"])
def test_signs_without_a_face_are_refused(sign: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(label_fonts, "system_fonts", lambda: ())
    with pytest.raises(BadValueError) as caught:
        save_labels([Label("N-1", f"good {sign}")], sheet_named(PRESETS[0]), tmp_path / "labels.pdf")
    assert f"U+{ord(sign):04X}" in str(caught.value)
    assert "--font FILE" in str(caught.value)
    assert not (tmp_path / "labels.pdf").exists()


def test_scripts_that_need_joining_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BadValueError, match="DEVANAGARI LETTER NA is of the Indian scripts"):
        save_labels([Label("N-1", "निम्फ")], sheet_named(PRESETS[0]), tmp_path / "labels.pdf")


@pytest.mark.parametrize("source", ["user", "system"])
def test_other_fonts_fill_in_and_are_embedded(
    source: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet, path = sheet_named(PRESETS[0]), tmp_path / "labels.pdf"
    font = Path(mpl.get_data_path()) / "fonts" / "ttf" / "STIXGeneral.ttf"
    label = Label("N-1", "name \N{SCRIPT SMALL G}")  # a sign that the built-in face lacks
    monkeypatch.setattr(label_fonts, "system_fonts", lambda: (font,) if source == "system" else ())
    given = font if source == "user" else None
    save_labels([label], sheet, path, font=given)
    assert label_notes([label], sheet, given) == ()
    assert b"STIXGeneral" in path.read_bytes()
    assert "\N{SCRIPT SMALL G}" in text_in(path, sheet.place(0))


def test_a_font_file_that_cannot_be_used_is_refused(tmp_path: Path) -> None:
    for wrong in (tmp_path / "none.ttf", Path(__file__)):
        with pytest.raises(BadValueError, match=f"font: .*{wrong.name}"):
            save_labels([PLAIN], sheet_named(PRESETS[0]), tmp_path / "labels.pdf", font=wrong)


def test_chinese_is_kept_as_text_and_the_user_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(label_fonts, "system_fonts", lambda: ())
    sheet, path, label = sheet_named(PRESETS[0]), tmp_path / "labels.pdf", Label("N-1", "黑色若蟲")
    save_labels([label], sheet, path)
    assert "黑色若蟲" in text_in(path, sheet.place(0))
    assert "黑色若蟲" in label_notes([label], sheet)[0]
    assert "--font FILE" in label_notes([label], sheet)[0]


def test_right_to_left_text_is_joined_and_reversed(tmp_path: Path) -> None:
    sheet, path = sheet_named(PRESETS[0]), tmp_path / "labels.pdf"
    save_labels([Label("N-1", "سلك", note="אבג")], sheet, path)
    places = {unicodedata.normalize("NFKC", sign): area.x for sign, area, _ in letters(path)}
    assert places["א"] > places["ב"] > places["ג"]
    assert places["س"] > places["ل"] > places["ك"]
    joined = pypdfium2.PdfDocument(path)[0].get_textpage().get_text_range()
    # Unicode chart FE70-FEFF: seen initial FEB3, lam medial FEE0, kaf final FEDA.
    assert {"\ufeb3", "\ufee0", "\ufeda"} <= set(joined) or "سلك" in joined


def test_a_code_that_cannot_fit_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadValueError, match="do not fit the 18 x 10 mm that can be printed on"):
        save_labels([Label("W" * 60, speed=SPEED)], sheet_named("a4-9x22-20x12"), tmp_path / "labels.pdf")
    assert not (tmp_path / "labels.pdf").exists()


@pytest.mark.parametrize("name", PRESETS)
def test_known_sheets_fit_and_keep_off_the_edge(name: str) -> None:
    sheet = sheet_named(name)
    assert sheet.per_page == np.prod([int(count) for count in name.split("-")[1].split("x")])
    width, height = (float(side) for side in name.split("-")[2].split("x"))
    assert (sheet.label_width / MM, sheet.label_height / MM) == pytest.approx((width, height), abs=0.7)
    for number in (0, sheet.per_page - 1):
        page = Area(PRINTABLE, PRINTABLE, sheet.page_width - 2 * PRINTABLE, sheet.page_height - 2 * PRINTABLE)
        assert holds(page, sheet.safe(number), 1e-9)
        assert holds(sheet.place(number), sheet.safe(number), 0.0)


def test_a_sheet_in_the_users_words() -> None:
    sheet = custom_sheet("A4", 3, 8, "70x37 mm", "0 x 0.5 mm", "0x0 mm")
    for number in (0, 23):
        assert holds(sheet.place(number), sheet_named("a4-3x8-70x37").place(number), 1e-9)
    inches = custom_sheet("8.5x11 in", 3, 10, "2.625 x 1 in", "0.1875x0.5 in", "0.125x0 in")
    assert inches.place(29).x == pytest.approx((0.1875 + 2 * 2.75) * 25.4 * MM)
    assert inches.place(29).y == pytest.approx(9.5 * 25.4 * MM)
    assert parse_pair("7 cm × 37 mm", "label") == pytest.approx((0.070, 0.037))


@pytest.mark.parametrize(
    ("paper", "columns", "rows", "label", "margin", "gap", "message"),
    [
        (
            "a4",
            3,
            8,
            "71x37 mm",
            "0x0 mm",
            "0x0 mm",
            "columns: 3 columns of 71 mm, .* need 213 mm, .* 210 mm wide",
        ),
        ("a4", 3, 8, "70x37 mm", "0x2 mm", "0x0 mm", "rows: 8 rows of 37 mm, .* need 298 mm, .* 297 mm high"),
        ("letter", 3, 10, "66x25 mm", "5x12 mm", "9x0 mm", "columns: .* gaps of 9 mm"),
        ("letter", 0, 10, "66x25 mm", None, "0x0 mm", "columns: 0 is outside 1 to 100"),
        ("a4", 3, 8, "70x3 mm", None, "0x0 mm", "label: 70 x 3 mm is below 5 mm"),
        ("a4", 3, 8, "60x30 mm", "-1x0 mm", "0x0 mm", "margin: -1 x 0 mm is below 0 mm"),
        ("a4", 3, 8, "60x30 mm", None, "-1x0 mm", "gap: -1 x 0 mm is below 0 mm"),
        ("a4", 3, 8, "60 mm", None, "0x0 mm", 'label: "60 mm" is not two lengths'),
        ("a4", 3, 8, "60x30", None, "0x0 mm", 'label: "60x30" is not two lengths'),
        ("a4", 3, 8, "60x30 s", None, "0x0 mm", "label: .* is not a length"),
        ("foolscap", 3, 8, "60x30 mm", None, "0x0 mm", 'paper: "foolscap" is not known'),
        ("a4", 1, 1, "8x20 mm", "0x0 mm", "0x0 mm", "label: .* where printers do not reach"),
    ],
)
def test_sheets_that_do_not_fit_are_refused(
    paper: str, columns: int, rows: int, label: str, margin: str | None, gap: str, message: str
) -> None:
    with pytest.raises(BadValueError, match=message):
        custom_sheet(paper, columns, rows, label, margin, gap)


def test_an_unknown_sheet_is_refused() -> None:
    with pytest.raises(BadValueError, match=r'sheet: "a4-1x1" is not known\. Use one of a4-2x4-99x68'):
        sheet_named("a4-1x1")
