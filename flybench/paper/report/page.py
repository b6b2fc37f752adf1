"""The report page of a bench run as a picture or a PDF: the fly and its speed, how it fell, and what to do next time."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from flybench.bench.measure import Measurement
from flybench.charts.lettering import drawable
from flybench.paper.page_mark import SOFTWARE, page_mark
from flybench.paper.report.below import flag_lines, table_height, write_flags, write_footer, write_table
from flybench.paper.report.blank import FOOT, LINE, Page
from flybench.paper.report.blank import HEIGHT as PAPER
from flybench.paper.report.facts import HEIGHT, fly_name, write_facts
from flybench.paper.report.heading import BOTTOM, write_heading
from flybench.paper.report.photo import PagePhoto
from flybench.paper.report.pictures import draw_pictures

_MOST_TEXT = 0.25 * PAPER
"""Height that drops and flags may take from the pictures [points]."""


def save_png(page: Figure, run: Measurement, path: Path) -> None:
    """Write a run's page as PNG, 150 dots per inch."""
    FigureCanvasAgg(page).print_png(
        str(path), metadata=page_mark(run.result.clip.name), pil_kwargs={"compress_level": 1}
    )  # type: ignore[no-untyped-call]


def save_pdf(page: Figure, run: Measurement, path: Path, name: str | None = None) -> None:
    """Write a run's page as PDF, A4; ``name`` is the fly's, else the run says it."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf  # brings a font library along

    title = drawable(f"{name or fly_name(run)}: {run.result.clip.name}")
    told = {"Title": title, "Creator": SOFTWARE, "CreationDate": None}
    FigureCanvasPdf(page).print_pdf(str(path), metadata=told)  # type: ignore[no-untyped-call]


@cache
def prepare() -> None:
    """Have the fonts read and the drawing code loaded before the first page is wanted; once is enough."""
    figure = Figure()
    figure.subplots().plot([0, 1], marker="o", label="a")
    figure.legend()
    FigureCanvasAgg(figure).draw()  # type: ignore[no-untyped-call]


def report_page(
    run: Measurement, name: str | None = None, today: date | None = None, photo: PagePhoto | None = None
) -> Figure:
    """Return the page of a run, refused ones included; ``today`` is the day of measuring, ``photo`` the catalog's."""
    page, result = Page(), run.result
    write_heading(page, run, name or fly_name(run), photo)
    write_facts(page, run, today or date.today(), BOTTOM + 12)
    fitted = any(drop.fit for drop in result.drops)
    table = table_height(result.drops)
    flags = flag_lines(result, int((_MOST_TEXT - table) / LINE)) if fitted else []
    top = FOOT - 10 - table - LINE * len(flags)
    draw_pictures(page, run, BOTTOM + HEIGHT + 28, top - 12)
    write_table(page, result.drops, top)
    write_flags(page, flags, top + table)
    write_footer(page, result)
    return page.figure
