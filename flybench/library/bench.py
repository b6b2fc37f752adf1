"""At the tank: a clip measured, a run planned, the scale card made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flybench.bench.plan.asked import read_goal
from flybench.bench.plan.search import plan as search_plan
from flybench.bench.sheet.keys import ARGUMENTS, QUANTITIES
from flybench.errors import BadValueError
from flybench.jobs.bench.card import make_card
from flybench.jobs.bench.keep import measure_and_keep
from flybench.jobs.bench.measure import Wanted, tables_for
from flybench.library.result import Record, Result
from flybench.library.typed import PathText, Points, Quantity, path_of, points_of, text_of
from flybench.quantity import Measured
from flybench.rounding import speed_text
from flybench.telling.bench import measurement as measured
from flybench.telling.bench import plan as planned

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from flybench.bench.measure import Measurement
    from flybench.library.shop import Shop
    from flybench.paper.report.photo import PagePhoto


class Run(Result):
    """A clip that was measured: verdict, speeds, drops, picture. Speeds in m/s, with standard uncertainties."""

    def __init__(
        self, measurement: Measurement, number: int | None = None, photo: PagePhoto | None = None
    ) -> None:
        """Take what the method found, the number under which a catalog keeps it (None: it is not kept), and its photo."""
        self._measurement, self.number, self._photo = measurement, number, photo
        record = measured.record(measurement.result)
        super().__init__(record, measured.lines(measurement.result), f"<run: {_in_short(record)}>")

    @property
    def verdict(self) -> str:
        """Return "good", "usable" or "refused"."""
        return str(self.record["verdict"])

    @property
    def flags(self) -> list[str]:
        """Return the names of what weakens the result; ``fb.flags(name)`` explains them."""
        return list(self.record["flags"])

    @property
    def speed(self) -> Measured | None:
        """Return the sink speed in the tank as it was [m/s], with its standard uncertainty; None where refused."""
        return _measured(self.record)

    @property
    def free_water_speed(self) -> Measured | None:
        """Return the sink speed with the tank's walls taken out [m/s]; None where it is not known."""
        return None if self.record["free_water"] is None else _measured(self.record["free_water"])

    @property
    def drops(self) -> list[Record]:
        """Return the drops as in the machine form: SI units, None where a value could not be had."""
        return list(self.record["drops"])

    def rows(self) -> list[Record]:
        """Return one row a drop."""
        return self.drops

    def _drawing(self) -> Callable[[], Figure]:
        from flybench.paper.report.page import report_page

        return partial(report_page, self._measurement, photo=self._photo)


def _measured(record: Record) -> Measured | None:
    value = record["sink_speed_m_s"]
    return None if value is None else Measured(value, record["standard_uncertainty_m_s"])


def _in_short(record: Record) -> str:
    speed = _measured(record)
    found = (
        "no sink speed" if speed is None else f"{speed_text(speed.value, speed.expanded)} in the tank, k = 2"
    )
    return f"{record['verdict']}, {found}"


def measure(
    clip: PathText,
    *,
    sheet: PathText | None = None,
    without: Mapping[int, str] | None = None,
    points: Points | None = None,
    card: bool = False,
    wall_material: str | None = None,
    wall_index: float | None = None,
    fly: str | None = None,
    name: str | None = None,
    catalog: Shop | None = None,
    same_clip: str = "",
    report: PathText | None = None,
    overlay: PathText | None = None,
    overwrite: bool = False,
    **quantities: Quantity,
) -> Run:
    """Measure the sink speed of the fly in a clip, as ``flybench bench measure`` does.

    Arguments are named as the command's options: ``temperature="18 degC"``, ``length="250 mm"``, ``gap``, ``distance``,
    ``tank_width`` and so on: texts with units or quantities of pint, each with its "+-" (k = 2) where it has one. The
    sheet beside the clip is read if it is there; arguments go before it. ``without`` leaves drops out, {1: "hit the wall"}.
    Nothing is written unless ``report`` (.png or .pdf) or ``overlay`` (.mp4) is given. With ``catalog`` and ``fly`` the run
    is kept there under that fly; ``same_clip`` says why a clip that another fly has already counts for it too.

    Returns a Run; a clip that cannot be measured gives a Run whose verdict is "refused" and whose speed is None.
    Raises FlybenchError with the message of the command for whatever can be put right, TypeError for an unknown argument.
    """
    path, beside = path_of(clip), None if sheet is None else path_of(sheet)
    plain: Record = {
        "points": points_of(points),
        "card": "in water" if card else None,
        "fly": fly,
        "name": name,
    }
    walls = {"wall_material": wall_material, "wall_index": wall_index}
    plain |= {"without": None if without is None else [[number, why] for number, why in without.items()]}
    wanted = _wanted(report, overlay, overwrite)
    with _named_as_given(plain | walls | quantities):
        tables = tables_for(path, beside, _tables(plain | walls, quantities))
        kept = measure_and_keep(
            path,
            tables,
            None if catalog is None else catalog.catalog,
            wanted,
            sheet=beside,
            same_clip=same_clip,
        )
    return Run(kept.run, kept.number, kept.photo)


def _wanted(report: PathText | None, overlay: PathText | None, overwrite: bool) -> Wanted:
    pages = [] if report is None else [path_of(report)]
    return Wanted(pages, None if overlay is None else path_of(overlay), overwrite, close_ups=True)


@contextmanager
def _named_as_given(arguments: Mapping[str, Any]) -> Iterator[None]:
    """Let an error about a value name the argument that gave it instead of the sheet's key."""
    given = {
        ARGUMENTS[name]: name for name, value in arguments.items() if name in ARGUMENTS and value is not None
    }
    try:
        yield
    except BadValueError as error:
        if error.key not in given:
            raise
        raise error.named(given[error.key]) from error


def _tables(plain: Record, quantities: dict[str, Quantity]) -> dict[str, dict[str, Any]]:
    """Return what was given as the tables of a sheet."""
    known = [name for name, key in ARGUMENTS.items() if key in QUANTITIES]
    for name in quantities:
        if name not in known:
            raise TypeError(f"measure() has no argument {name!r}. It takes: {', '.join(sorted(known))}")
    given = {name: text_of(value, name) for name, value in quantities.items() if value is not None}
    tables: dict[str, dict[str, Any]] = {}
    for name, value in ({name: one for name, one in plain.items() if one is not None} | given).items():
        table, key = ARGUMENTS[name].split(".")
        tables.setdefault(table, {})[key] = value
    return tables


class Plan(Result):
    """What a wanted precision needs: column, tank, camera, frame rate, drops."""

    @property
    def met(self) -> bool:
        """Tell whether the precision can be had."""
        return bool(self.record["met"])

    def rows(self) -> list[Record]:
        """Return one row a piece of advice."""
        return list(self.record["advice"])


def plan(speed: Quantity, *, free_water: bool = False, **wishes: Quantity) -> Plan:
    """Say what a wanted precision needs, as ``flybench bench plan`` does.

    ``speed`` is about the sink speed expected; ``precision``, ``fly_width``, ``density_ratio``, ``frame_rate``,
    ``distance`` and so on are named as the command's options. Raises FlybenchError for what cannot be.
    """
    asked = {
        name: text_of(value, name) for name, value in ({"speed": speed} | wishes).items() if value is not None
    }
    found = search_plan(read_goal(asked, free_water))
    record = planned.record(found)
    return Plan(record, planned.lines(found, asked), f"<plan: {record['verdict']}>")


def card(
    output: PathText | None = None,
    *,
    paper: str = "a4",
    format: str = "pdf",  # noqa: A002  # the option's name
    overwrite: bool = False,
) -> Path:
    """Draw the scale card, as ``flybench bench card`` does, and return where it was written."""
    return make_card(
        paper, format, output=None if output is None else path_of(output), overwrite=overwrite
    ).path
