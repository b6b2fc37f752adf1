"""Pictures of sinking, written whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flybench.charts.figure import save_figure
from flybench.files import check_writable, whole_file
from flybench.jobs.sink.predict import Prediction

if TYPE_CHECKING:
    from flybench.sinking.model.law import Law

_MOST_MEASURED = 30
_ROW, _LEAST = 0.24, 2.2


def save_picture(path: Path, width: float, height: float, draw: Callable[[Any], None]) -> None:
    """Draw on one pair of axes and write PNG, PDF or SVG; sizes in inches. Raises FlybenchError as files do."""
    check_writable(path)
    with whole_file(path) as part:
        save_figure(part, path.suffix, width, height, draw)


def plot_prediction(found: Prediction, path: Path) -> None:
    """Write the picture of predicted flies, with the measured flies of their patterns or styles beside them."""
    from flybench.charts.prediction import predicted_speeds

    styles = {one.build.style for one in found.flies}
    near = [one for one in found.learned.sunk if one.build.style in styles][:_MOST_MEASURED]
    names = [f"{one.build.code} {one.bead or ''}".strip() for one in found.flies]
    height = max(_ROW * (len(near) + len(names)) + 0.9, _LEAST)
    save_picture(
        path,
        6.5,
        height,
        lambda axes: predicted_speeds(axes, [one.forecast for one in found.flies], names, near),
    )


def plot_law(law: Law, length_name: str, path: Path) -> None:
    """Write the picture of a drag law."""
    from flybench.charts.drag_law import drag_area_against_reynolds

    save_picture(path, 5.5, 4.0, lambda axes: drag_area_against_reynolds(axes, law, length_name))
