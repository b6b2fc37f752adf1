"""How a run was made, for its page: day, water, tank, scale and the fly's weight, each as it was stated."""

from __future__ import annotations

from datetime import date

from flybench.bench.measure import Measurement
from flybench.bench.sheet.settings import FlySettings, ScaleSettings, Settings, TankSettings
from flybench.charts.lettering import wrapped
from flybench.charts.style import BODY, MUTED, SMALL
from flybench.paper.report.blank import LEFT, RIGHT, Page
from flybench.quantity import celsius

HEIGHT = 40.0
"""Height of the strip [points]: a label and two lines."""
_NOT_TOLD = "not stated"
_SHARES = (1.15, 0.75, 1.05, 0.95, 1.0, 1.1)
"""Widths of the cells against each other [-]."""
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""Names of the months, whatever language the computer speaks: the rest of the page is English."""

Cell = tuple[str, str]


def facts(run: Measurement, today: date) -> list[Cell]:
    """Return label and value of every fact; ``today`` is the day of measuring."""
    settings = run.view.geometry.settings
    return [
        _day(run.filmed, today),
        ("water", _water(settings)),
        ("tank, inside", _tank(settings.tank)),
        _scale(settings.scale),
        ("gap to the fly", f"{_mm(settings.scale.gap.value)} mm" if settings.scale.gap_known else _NOT_TOLD),
        ("weight of the fly", _weight(settings.fly)),
    ]


def fly_name(run: Measurement) -> str:
    """Return what the fly is called: its name in the sheet, else its code, else the name of the clip without its ending."""
    fly = run.view.geometry.settings.fly
    given = " ".join((fly.name or "").split()) or " ".join((fly.code or "").split())
    return given or run.result.clip.name.rpartition(".")[0] or run.result.clip.name


def write_facts(page: Page, run: Measurement, today: date, top: float) -> None:
    """Write the strip of facts between two rules."""
    page.rule(top)
    page.rule(top + HEIGHT)
    unit = (RIGHT - LEFT) / sum(_SHARES)
    x = LEFT
    for (label, value), share in zip(facts(run, today), _SHARES, strict=True):
        room = share * unit - 8
        page.write(x, top + 11, label, SMALL, color=MUTED)
        lines = [line for part in value.split("\n") for line in wrapped(part, room, BODY)]
        for number, line in enumerate(lines[:2]):
            page.write(x, top + 23 + 11 * number, line, BODY)
        x += share * unit


def _day(filmed: date | None, today: date) -> Cell:
    """Return the day and which day it is."""
    return ("measured on", _written(today)) if filmed is None else ("filmed on", _written(filmed))


def _written(day: date) -> str:
    """Return a day as nobody misreads it."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _water(settings: Settings) -> str:
    salt = f", {settings.salinity * 1e3:g} g/kg salt" if settings.salinity else ""
    return f"{round(celsius(settings.temperature), 1):g} °C{salt}"


def _tank(tank: TankSettings) -> str:
    if tank.diameter is not None:
        return f"round, {_mm(tank.diameter)} mm"
    if tank.width is None and tank.depth is None:
        return _NOT_TOLD
    sides = [("wide", tank.width), ("deep", tank.depth)]
    if tank.width is not None and tank.depth is not None:
        return f"{_mm(tank.width)} x {_mm(tank.depth)} mm"
    return " ".join(f"{_mm(side)} mm {word}" for word, side in sides if side is not None)


def _scale(scale: ScaleSettings) -> Cell:
    """Return what the scale is and how long its bar or the way between its points."""
    if scale.card:
        return "card's bar", "not measured" if scale.bar is None else f"{_mm(scale.bar.value)} mm"
    length = scale.length
    return "two points", _NOT_TOLD if length is None else f"{_mm(length.value)} mm apart"


def _weight(fly: FlySettings) -> str:
    """Return the fly's masses and volume."""
    told = [
        f"{fly.mass[0] * 1e3:.4g} g in air" if fly.mass else "",
        f"{fly.mass_in_water[0] * 1e3:.4g} g in water" if fly.mass_in_water else "",
        f"{fly.volume[0] * 1e9:.3g} mm³" if fly.volume and not fly.mass_in_water else "",
    ]
    return "\n".join(filter(None, told)) or _NOT_TOLD


def _mm(metres: float) -> str:
    """Return millimetres to a tenth."""
    return f"{round(metres * 1e3, 1):g}"
