"""The printed card is true to scale in every format, its lane is clear, and a phone picture finds it all."""

from __future__ import annotations

import io
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image

from flybench import cli
from flybench.bench.view import card
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.bench.card import make_card
from flybench.paper import card as page
from flybench.paper.drawing import Box

PAPERS = ("a4", "letter")
FORMATS = ("pdf", "png", "svg")
COUNT = {"a4": 60, "letter": 56}
MM = 0.001
Picture = NDArray[np.uint8]


def rendered(paper: str, form: str) -> tuple[Picture, float, float]:
    """Return the page as grey pixels at about 300 dpi and its true pixels a metre, across and down."""
    content = page.write(paper, form, 300)
    if form == "png":
        image = Image.open(io.BytesIO(content))
        return np.asarray(image), image.info["dpi"][0] / 0.0254, image.info["dpi"][1] / 0.0254
    if form == "pdf":
        sheet = pypdfium2.PdfDocument(content)[0]
        picture = np.asarray(sheet.render(scale=300 / 72).to_pil().convert("L"))
        width, height = (side * 0.0254 / 72 for side in sheet.get_size())
        return picture, picture.shape[1] / width, picture.shape[0] / height  # pdfium fills whole pixels
    return raster(content), 300 / 0.0254, 300 / 0.0254


def raster(content: bytes) -> Picture:
    """Fill the boxes of an SVG card with exact coverage at 300 dpi."""
    root = ET.fromstring(content)
    scale = 300 / 25.4
    width, height = (round(float(side) * scale) for side in root.attrib["viewBox"].split()[2:])
    page_pixels = np.full((height, width), 255.0)
    for path in root.findall("{*}path"):
        shade = 255 - int(path.attrib["fill"][1:3], 16)
        for ring in path.attrib["d"].split("Z")[:-1]:
            points = np.array([[float(v) for v in pair.split()] for pair in ring[1:].split("L")]) * scale
            if len(points) != 4:
                continue
            (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
            across = np.diff(np.arange(width + 1).clip(x0, x1))
            down = np.diff(np.arange(height + 1).clip(y0, y1))
            rows, columns = np.flatnonzero(down), np.flatnonzero(across)
            page_pixels[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] -= shade * np.outer(
                down[rows], across[columns]
            )
    return np.rint(page_pixels.clip(0, 255)).astype(np.uint8)


def found(picture: Picture) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the corners found (pixel edges at whole numbers) and where they are on the card [m]."""
    seen, true = [], []
    for strip in (0, 1):
        points, ids, _, _ = cv2.aruco.CharucoDetector(card.board(strip)).detectBoard(picture)
        if ids is not None:
            seen.append(np.asarray(points, dtype=float).reshape(-1, 2) + 0.5)
            true.append(card.corners(strip)[np.asarray(ids).ravel()])
    return np.concatenate(seen), np.concatenate(true)


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("form", FORMATS)
def test_corners_are_true_to_scale(paper: str, form: str) -> None:
    picture, *scale = rendered(paper, form)
    seen, true = found(picture)
    assert len(seen) == COUNT[paper]
    seen = seen / scale
    off = seen - (true + page.strips_origin(paper))
    assert np.abs(off).max() < 0.05 * MM
    for axis in (0, 1):
        slope = np.polyfit(true[:, axis], seen[:, axis], 1)[0]
        assert abs(slope - 1) < 0.0005


@pytest.mark.slow
@pytest.mark.parametrize("dpi", [150, 301, 600])
def test_png_is_true_to_scale_at_any_dpi(dpi: int) -> None:
    image = Image.open(io.BytesIO(page.write("a4", "png", dpi)))
    assert image.info["dpi"] == pytest.approx((dpi, dpi), rel=1e-4)
    seen, true = found(np.asarray(image))
    assert len(seen) == COUNT["a4"]
    slope = np.polyfit(true[:, 1], seen[:, 1] / (dpi / 0.0254), 1)[0]
    assert abs(slope - 1) < 0.0005


def inside(paper: str, form: str, x0: float, y0: float, x1: float, y1: float) -> Picture:
    """Return the pixels of a part of the page [m], less the pixel along its edge."""
    picture, across, down = rendered(paper, form)
    rows = slice(int(np.ceil(y0 * down)) + 1, int(y1 * down) - 1)
    return picture[rows, int(np.ceil(x0 * across)) + 1 : int(x1 * across) - 1]


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("form", FORMATS)
def test_lane_is_pure_white_and_wide_enough(paper: str, form: str) -> None:
    left, top = page.strips_origin(paper)
    x0, x1 = left + card.COLUMNS * card.SQUARE, left + card.strip_offset(1)
    lane = inside(paper, form, x0, top, x1, top + card.ROWS[paper] * card.SQUARE)
    assert lane.min() == 255
    assert lane.shape[1] * 25.4 / 300 >= 60


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("form", FORMATS)
def test_quiet_zone_is_white(paper: str, form: str) -> None:
    left, top = page.strips_origin(paper)
    right, bottom = left + card.width(), top + card.ROWS[paper] * card.SQUARE
    quiet = 4 * MM
    for part in (
        (left - quiet, top - quiet, left, bottom + quiet),
        (right, top - quiet, right + quiet, bottom + quiet),
        (left, top - quiet, right, top),
        (left, bottom, right, bottom + quiet),
    ):
        assert inside(paper, form, *part).min() == 255


def phone_picture(paper: str, seed: int) -> Picture:
    """Return the card in an upright 720p picture that is 350 mm wide, slightly blurred and noisy."""
    image, scale, _ = rendered(paper, "png")
    zoom = 720 / 0.350 / scale
    small = cv2.resize(image, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    frame = np.full((1280, 720), 180.0)
    top, left = (1280 - small.shape[0]) // 2, (720 - small.shape[1]) // 2
    frame[top : top + small.shape[0], left : left + small.shape[1]] = 30 + small * (170 / 255)
    frame = cv2.GaussianBlur(frame, (0, 0), 0.7)
    frame += np.random.default_rng(seed).normal(0, 3, frame.shape)
    return np.rint(frame.clip(0, 255)).astype(np.uint8)


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_corner_is_found_in_a_phone_picture(paper: str, seed: int) -> None:
    seen, true = found(phone_picture(paper, seed))
    assert len(seen) == COUNT[paper]
    slope = np.polyfit(true[:, 1], seen[:, 1], 1)[0]
    assert slope == pytest.approx(720 / 0.350, rel=0.002)  # the resized page is rounded to whole pixels


@pytest.mark.parametrize("paper", PAPERS)
def test_all_drawing_lies_inside_the_margins(paper: str) -> None:
    drawing = page.lay_out(paper)
    boxes = [*drawing.black, *drawing.grey, *(text_box(t.left, t.y, t.width, t.size) for t in drawing.texts)]
    for box in boxes:
        assert box.x >= 8 * MM - 1e-9
        assert box.y >= 8 * MM - 1e-9
        assert box.x + box.width <= drawing.width - 8 * MM + 1e-9
        assert box.y + box.height <= drawing.height - 8 * MM + 1e-9


def text_box(x: float, baseline: float, width: float, size: float) -> Box:
    """Return the room a line of text takes, ascenders and descenders included."""
    return Box(x, baseline - 0.8 * size, width, 1.05 * size)


@pytest.mark.parametrize("paper", PAPERS)
def test_no_text_touches_strips_lane_or_other_text(paper: str) -> None:
    content = page.write(paper, "pdf", 300)
    height = card.PAPER[paper][1]
    sheet = pypdfium2.PdfDocument(content)[0]
    words = sheet.get_textpage()
    unit = 0.0254 / 72
    top = page.TOP
    bottom = top + card.ROWS[paper] * card.SQUARE
    boxes = [words.get_rect(i) for i in range(words.count_rects())]
    assert len(boxes) >= 5
    for x0, y0, x1, y1 in boxes:
        above, below = height - y1 * unit, height - y0 * unit
        assert below < top - 4 * MM or above > bottom + 4 * MM
        assert x0 * unit > 8 * MM
        assert x1 * unit < card.PAPER[paper][0] - 8 * MM
    lines = sorted((height - y1 * unit, height - y0 * unit) for _, y0, _, y1 in boxes)
    assert all(nxt[0] > line[1] for line, nxt in pairwise(lines))


def test_pdf_is_one_page_with_neutral_metadata_and_all_words() -> None:
    document = pypdfium2.PdfDocument(page.write("a4", "pdf", 300))
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((595.2756, 841.8898), abs=1e-3)
    data = document.get_metadata_dict()
    assert data["Title"] == "Scale card, A4, 15 mm squares"
    assert data["Author"] == data["Creator"] == "flybench"
    words = re.sub(r"\s+", " ", document[0].get_textpage().get_text_range())
    for line in (page.BAR_WORDS, page.CAUTION, *page.INSTRUCTIONS, "this side up"):
        assert line in words


def test_pdf_asks_not_to_be_scaled() -> None:
    assert b"/PrintScaling /None" in page.write("letter", "pdf", 300)


def test_svg_gives_its_size_in_mm() -> None:
    root = ET.fromstring(page.write("letter", "svg", 300))
    assert (root.attrib["width"], root.attrib["height"]) == ("215.9mm", "279.4mm")
    assert root.attrib["viewBox"] == "0 0 215.9 279.4"


@pytest.mark.parametrize("paper", PAPERS)
def test_bar_is_100_mm_between_its_end_ticks(paper: str) -> None:
    picture, scale, _ = rendered(paper, "png")
    row = round((page.TOP + card.ROWS[paper] * card.SQUARE + 5.2 * MM) * scale)
    ink = 255.0 - picture[row]
    ink[: int(30 * MM * scale)] = 0.0
    ink[-int(30 * MM * scale) :] = 0.0
    columns = np.arange(len(ink)) + 0.5
    half = len(ink) // 2
    ends = [np.average(columns[part], weights=ink[part]) for part in (slice(None, half), slice(half, None))]
    assert (ends[1] - ends[0]) / scale == pytest.approx(card.BAR, abs=0.02 * MM)


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """Run the command line and return its exit code."""
    monkeypatch.setattr(sys, "argv", ["flybench", *arguments])
    try:
        cli.main()
    except SystemExit as end:
        return int(end.code or 0)
    return 0


def test_command_writes_the_card_and_says_what_to_check(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, "bench", "card") == 0
    said = capsys.readouterr()
    assert [p.name for p in tmp_path.iterdir()] == ["scale-card-a4.pdf"]
    assert said.err == "Wrote scale-card-a4.pdf\n"
    assert max(map(len, said.out.splitlines())) <= 80
    assert " ".join(said.out.split()) == (
        "This is a PDF of 210 x 297 mm. Print it at 100 %, without fitting it to the page, on A4 paper. Check the "
        "print: lay a ruler along the 100 mm bar, from the middle of one end tick to the middle of the other. Write "
        'what the ruler says into the sheet, to a quarter of a millimetre, for example bar = "100.0 mm" under '
        f"[scale]. {page.CAUTION}"
    )


def test_format_follows_the_name_of_the_output(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert run(monkeypatch, "bench", "card", "--output", str(tmp_path / "c.svg"), "--paper", "letter") == 0
    assert (tmp_path / "c.svg").read_text().startswith("<?xml")


@pytest.mark.parametrize(
    "arguments",
    [
        ("--paper", "a5"),
        ("--format", "gif"),
        ("--format", "png", "--dpi", "100"),
        ("--format", "png", "--dpi", "1201"),
        ("--dpi", "300"),
        ("--format", "pdf", "--output", "card.png"),
    ],
)
def test_wrong_usage_ends_with_2(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, "bench", "card", *arguments) == 2
    assert not list(tmp_path.iterdir())


def test_existing_file_is_kept_unless_overwrite(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "card.pdf"
    target.write_text("mine")
    assert run(monkeypatch, "bench", "card", "--output", str(target)) == 1
    said = capsys.readouterr().err
    assert said == f"Error: {target}: exists already. Name another file, or add --overwrite to replace it.\n"
    assert target.read_text() == "mine"
    assert run(monkeypatch, "bench", "card", "--output", str(target), "--overwrite") == 0
    assert target.read_bytes().startswith(b"%PDF")
    assert list(tmp_path.iterdir()) == [target]


def test_unwritable_output_ends_with_1_and_a_message(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    for target in (tmp_path / "none" / "card.pdf", tmp_path / "file" / "card.pdf"):
        assert run(monkeypatch, "bench", "card", "--output", str(target)) == 1
        said = capsys.readouterr().err
        assert said == (
            f"Error: {target}: there is no folder {target.parent}. Make it first or name another.\n"
        )


def test_job_refuses_what_the_command_line_refuses(tmp_path: Path) -> None:
    for arguments, message in (
        (("a5", "pdf", 300), '--paper: "a5" is not known. Use one of: a4, letter.'),
        (("a4", "gif", 300), '--format: "gif" is not known. Use one of: pdf, png, svg.'),
        (("a4", "png", 100), "--dpi: 100 is outside 150 to 1200. Use 300."),
    ):
        with pytest.raises(BadValueError) as told:
            make_card(*arguments, output=tmp_path / "x")
        assert str(told.value) == message
    with pytest.raises(FlybenchError) as refused:
        make_card(output=tmp_path)
    assert str(refused.value) == f"{tmp_path}: is a folder. Name a file in it."


def test_help_loads_no_heavy_module() -> None:
    code = (
        "import sys; from flybench.cli import root\n"
        "for words in (['--help'], ['bench', '--help']):\n"
        "    root(words, standalone_mode=False)\n"
        "print(sorted({'cv2', 'numpy', 'reportlab', 'scipy', 'pint', 'av'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
