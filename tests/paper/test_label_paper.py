"""Label paper: known and described by the user, printed true to scale, and refused where labels do not fit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from label_pages import (
    MM,
    SCALE,
    cut,
    dark_lines,
    holds,
    page_of,
    picture,
)

from flybench.errors import BadValueError
from flybench.paper.label.label_paper import (
    LABEL_PAPERS,
    PAPERS,
    PRINTABLE,
    Area,
    label_paper_named,
    label_paper_of_size,
    parse_pair,
)
from flybench.paper.label.pages import save_labels
from flybench.paper.label.proof import BAR, crosses

FIT = "Use fewer or smaller labels, less room around them, or larger paper."
PAIR = "Write both with one unit, such as"


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4-5x13-38x21", "a4-2x7-99x38", "letter-3x10-66x25", "letter-4x20-44x13"])
def test_outlines_lie_where_the_label_paper_says(name: str, tmp_path: Path) -> None:
    paper = label_paper_named(name)
    assert save_labels([], paper, tmp_path / "proof.pdf", proof=True).pages == 1
    image = picture(tmp_path / "proof.pdf")
    page = (image.shape[1] / SCALE, image.shape[0] / SCALE)
    assert page == pytest.approx(PAPERS[name.split("-", maxsplit=1)[0]], abs=0.05 * MM)
    for number in {0, paper.columns - 1, paper.per_page - 1}:
        area = paper.place(number)
        around = Area(area.x - MM, area.y - MM, area.width + 2 * MM, area.height + 2 * MM)
        ink = cut(image, around) < 128
        across, down = dark_lines(ink.mean(axis=0)), dark_lines(ink.mean(axis=1))
        for side, lines in ((area.width, across), (area.height, down)):
            assert np.abs(lines - MM).min() < 0.2 * MM
            assert np.abs(lines - MM - side).min() < 0.2 * MM


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4-3x8-70x37", "letter-3x10-66x25"])
def test_bar_and_crosses_are_true_to_scale(name: str, tmp_path: Path) -> None:
    paper = label_paper_named(name)
    save_labels([], paper, tmp_path / "proof.pdf", proof=True)
    image = picture(tmp_path / "proof.pdf")
    row = image[round((paper.page_height / 2 - 2 * MM) * SCALE)] < 128  # only the end ticks are so tall
    ticks = dark_lines(row.astype(float))
    ends = ticks[np.abs(ticks - paper.page_width / 2) < 51 * MM]
    assert ends[-1] - ends[0] == pytest.approx(BAR, abs=0.1 * MM)
    for x, y in crosses(paper):
        ink = cut(image, Area(x - 2 * MM, y - 2 * MM, 4 * MM, 4 * MM)) < 128
        assert dark_lines(ink.mean(axis=0)) == pytest.approx([2 * MM], abs=0.1 * MM)
        assert dark_lines(ink.mean(axis=1)) == pytest.approx([2 * MM], abs=0.1 * MM)
    words = page_of(tmp_path / "proof.pdf").get_textpage().get_text_range()
    (x0, y0), (x1, y1) = crosses(paper)[0], crosses(paper)[-1]
    assert f"{(x1 - x0) / MM:.1f} mm apart across and {(y1 - y0) / MM:.1f} mm down" in words


@pytest.mark.parametrize("name", LABEL_PAPERS)
def test_known_label_papers_fit_and_keep_off_the_edge(name: str) -> None:
    paper = label_paper_named(name)
    assert paper.per_page == np.prod([int(count) for count in name.split("-")[1].split("x")])
    width, height = (float(side) for side in name.split("-")[2].split("x"))
    assert (paper.label_width / MM, paper.label_height / MM) == pytest.approx((width, height), abs=0.7)
    for number in (0, paper.per_page - 1):
        page = Area(PRINTABLE, PRINTABLE, paper.page_width - 2 * PRINTABLE, paper.page_height - 2 * PRINTABLE)
        assert holds(page, paper.safe(number), 1e-9)
        assert holds(paper.place(number), paper.safe(number), 0.0)


def test_label_paper_in_the_users_words() -> None:
    paper = label_paper_of_size("A4", 3, 8, "70x37 mm", "0 x 0.5 mm", "0x0 mm")
    for number in (0, 23):
        assert holds(paper.place(number), label_paper_named("a4-3x8-70x37").place(number), 1e-9)
    inches = label_paper_of_size("8.5x11 in", 3, 10, "2.625 x 1 in", "0.1875x0.5 in", "0.125x0 in")
    assert inches.place(29).x == pytest.approx((0.1875 + 2 * 2.75) * 25.4 * MM)
    assert inches.place(29).y == pytest.approx(9.5 * 25.4 * MM)
    assert parse_pair("7 cm × 37 mm", "--label-size", "70x37 mm") == pytest.approx((0.070, 0.037))


@pytest.mark.parametrize(
    ("paper", "columns", "rows", "label", "margin", "between", "message"),
    [
        (
            "a4", 3, 8, "71x37 mm", "0x0 mm", "0x0 mm",
            "--across: 3 labels of 71 mm with 0 mm between them and a margin of 0 mm need 213 mm, "
            f"and the paper has 210 mm. {FIT}",
        ),
        (
            "a4", 3, 8, "70x37 mm", "0x2 mm", "0x0 mm",
            "--down: 8 labels of 37 mm with 0 mm between them and a margin of 2 mm need 298 mm, "
            f"and the paper has 297 mm. {FIT}",
        ),
        (
            "letter", 3, 10, "2.6x1 in", "0.2x0.5 in", "0.4x0 in",
            "--across: 3 labels of 2.6 in with 0.4 in between them and a margin of 0.2 in need 8.8 in, "
            f"and the paper has 8.5 in. {FIT}",
        ),
        (
            "letter", 0, 10, "66x25 mm", None, "0x0 mm",
            "--across: 0 is outside 1 to 100. Give a whole number, 1 to 100.",
        ),
        (
            "a4", 3, 8, "70x3 mm", None, "0x0 mm",
            "--label-size: 70 x 3 mm is below 5 mm. Give 5 mm or more both ways.",
        ),
        (
            "a4", 3, 8, "60x30 mm", "-1x0 mm", "0x0 mm",
            "--margin: -1 x 0 mm is below 0 mm. Give 0 mm or more both ways.",
        ),
        (
            "a4", 3, 8, "60x30 mm", None, "-1x0 mm",
            "--between: -1 x 0 mm is below 0 mm. Give 0 mm or more both ways.",
        ),
        ("a4", 3, 8, "60 mm", None, "0x0 mm", f'--label-size: "60 mm" is not two lengths. {PAIR} "70x37 mm".'),
        ("a4", 3, 8, "60x30", None, "0x0 mm", f'--label-size: "60x30" is not two lengths. {PAIR} "70x37 mm".'),
        (
            "a4", 3, 8, "60x30 s", None, "0x0 mm",
            f'--label-size: "60x30 s" is not two lengths. {PAIR} "70x37 mm".',
        ),
        (
            "a4", 3, 8, "60x30 mm", "2,5x0 mm", "0x0 mm",
            '--margin: "2,5x0 mm" is not two lengths. Write decimals with a point, such as "2.5x0 mm".',
        ),
        (
            "foolscap", 3, 8, "60x30 mm", None, "0x0 mm",
            '--paper: "foolscap" is not known. Use a4, a5, letter, or its size such as "210x297 mm".',
        ),
        (
            "a4", 1, 1, "8x20 mm", "0x0 mm", "0x0 mm",
            "--label-size: labels of 8 x 20 mm are too close to the edge: printers leave 5 mm blank. "
            "Use larger labels or a wider margin.",
        ),
    ],
)  # fmt: skip
def test_label_paper_that_does_not_fit_is_refused(
    paper: str, columns: int, rows: int, label: str, margin: str | None, between: str, message: str
) -> None:
    with pytest.raises(BadValueError) as caught:
        label_paper_of_size(paper, columns, rows, label, margin, between)
    assert str(caught.value) == message


def test_an_unknown_label_paper_is_refused() -> None:
    with pytest.raises(BadValueError) as caught:
        label_paper_named("a4-3x8-70x38")
    assert str(caught.value) == (
        f'--label-paper: "a4-3x8-70x38" is not known. Did you mean a4-3x8-70x37? Use one of {", ".join(LABEL_PAPERS)}, '
        "or describe your own with --paper, --across, --down and --label-size."
    )
