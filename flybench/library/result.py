"""What every call of the library returns: words, table and machine form of a result, and a picture in a notebook."""

from __future__ import annotations

import html
import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flybench.errors import FlybenchError
from flybench.files import check_new, whole_file
from flybench.library.typed import PathText, path_of

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

Record = dict[str, Any]


class Result:
    """A result: ``record`` is the machine form of ``--json`` (SI units, null as None), ``lines`` the words of the command."""

    def __init__(self, record: Any, lines: Sequence[str], short: str) -> None:
        """Take the machine form, the words, and one short line."""
        self.record = record
        self.lines = list(lines)
        self._short = short

    def __repr__(self) -> str:
        """Return one short line."""
        return self._short

    def __str__(self) -> str:
        """Return the words that the command prints."""
        return "\n".join(self.lines).rstrip()

    def _repr_html_(self) -> str:
        """Return the words, and the picture where there is one, for a notebook."""
        return f"<pre>{html.escape(str(self))}</pre>{self._picture()}"

    def rows(self) -> list[Record]:
        """Return the table of the result: one dict a row, SI units; results of one row are that row."""
        return [self.record] if isinstance(self.record, dict) else list(self.record)

    def to_frame(self) -> pd.DataFrame:
        """Return ``rows`` as a table of pandas; raises FlybenchError where pandas is not installed."""
        try:
            import pandas as pd
        except ImportError as error:
            raise FlybenchError(
                "to_frame: needs pandas, which is not installed. Install it (pip install pandas), or use rows()."
            ) from error
        return pd.DataFrame(self.rows())

    def plot(self, path: PathText | None = None, *, overwrite: bool = False) -> Figure:
        """Return the picture as a figure of matplotlib; with ``path`` it is also written there (.png, .pdf or .svg).

        Raises FlybenchError for a result that has no picture, or a file that exists and may not be replaced.
        """
        draw = self._drawing()
        if draw is None:
            raise FlybenchError(f"{type(self).__name__}: has no picture. Use print(...) or to_frame().")
        figure = draw()
        if path is not None:
            _save(figure, path_of(path), overwrite)
        return figure

    def _drawing(self) -> Callable[[], Figure] | None:
        """Return what draws the picture, or None where there is none."""
        return None

    def _picture(self) -> str:
        draw = self._drawing()
        if draw is None:
            return ""
        import base64

        page = io.BytesIO()
        draw().savefig(page, format="png")
        return f'<img alt="" src="data:image/png;base64,{base64.b64encode(page.getvalue()).decode()}">'


def _save(figure: Figure, path: Path, overwrite: bool) -> None:
    check_new(path, overwrite)
    with whole_file(path) as part:
        figure.savefig(part, format=path.suffix.lower().lstrip(".") or "png")
