"""The price list of a shop: what a query finds of its variants, as a page to hand out and as a table."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.offered import offered
from flybench.catalog.search.select import Row, find
from flybench.catalog.shelf.pictures import picture_for
from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.files import check_writable, whole_file
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.one_water import brought_codes
from flybench.jobs.shelf.spreadsheet import neutral
from flybench.jobs.trade.money import Money, money_of
from flybench.paper.label.content import LabelSpeed
from flybench.paper.price_list import PricePage, save_price_list
from flybench.quantity import COVERAGE_FACTOR, celsius
from flybench.shop.speeds.one_water import OneWater
from flybench.shop.speeds.set_ups import SAME_SALT

_VARIANT = NOUNS["variant"]
_HEADS = ("Fly", "Code", "Hook and bead", "Sinks at", "Price")
_COLUMNS = (
    "code",
    "name",
    "hook",
    "bead_mm",
    "metal",
    "sink_low_cm_s",
    "sink_high_cm_s",
    "water_deg_c",
    "salt_g_kg",
    "price",
    "currency",
)


@dataclass(frozen=True)
class PriceLine:
    """One fly of the list; its speed as the cm/s between which it lies, as on its label, None where it was not measured."""

    code: str
    name: str
    hook: int
    bead_m: float | None
    metal: str
    speed: tuple[str, str] | None
    price: Decimal
    picture: bytes | None = None
    """A photo of it, or of its pattern, where photos were asked for."""


@dataclass(frozen=True)
class PriceList:
    """The lines in the order of names, the money that they are in, the codes of those that have no price, the water that
    the speeds are for, and the codes of those that were measured in other water."""

    lines: tuple[PriceLine, ...]
    money: Money
    without_price: tuple[str, ...]
    water: OneWater
    brought: tuple[str, ...]


def price_list(catalog: Catalog, query: Sequence[str], photos: bool = False) -> PriceList:
    """Return the price list of the variants that a query finds; retired ones, and those of retired patterns, are not on it.

    ``photos`` brings the first photo of each along, of the variant, else of its pattern.

    Raises FlybenchError where none of them has a price.
    """
    with catalog.reading() as session:
        rows = offered(session, find(session, _VARIANT, query, "name, hook, bead, code").rows)
        priced = [row for row in rows if row["price"] is not None]
        if not priced:
            raise FlybenchError(
                "No fly with a price was found. Set prices with: flybench variant change CODE --price 2.40"
            )
        without = tuple(row["code"] for row in rows if row["price"] is None)
        lines = tuple(_line(row, _picture(session, row) if photos else None) for row in priced)
        money = money_of(session)
    measured = [line.code for line in lines if line.speed is not None]
    water, brought = brought_codes(catalog, "variant", measured)
    return PriceList(lines, money, without, water, tuple(brought))


def _picture(session: Session, row: Row) -> bytes | None:
    """Return the first photo of a variant, else of its pattern, that was looked at when it was kept."""
    found = picture_for(session, {"variant": row["code"], "pattern": row["pattern"]})
    return None if found is None else found.content


def _line(row: Row, picture: bytes | None) -> PriceLine:
    metal = "" if row["metal"] is None else row["metal"].value
    return PriceLine(
        row["code"], row["name"], row["hook"], row["bead"], metal, _speed(row), row["price"], picture
    )


def _speed(row: Row) -> tuple[str, str] | None:
    if row["sink"] is None:
        return None
    return LabelSpeed(row["sink"], COVERAGE_FACTOR * row["sink-u"]).end_numbers


def save(found: PriceList, path: Path, title: str, day: date, paper: str) -> None:
    """Write the list as PDF or CSV, by the ending of the file's name; a file of that name is replaced.

    Raises FlybenchError for another ending, and where it cannot be written.
    """
    check_writable(path)
    ending = path.suffix.lower()
    if ending not in (".pdf", ".csv"):
        raise FlybenchError(
            f'--output: "{path}" ends neither in .pdf nor in .csv. Name a file such as prices.pdf.'
        )
    with whole_file(path) as part:
        if ending == ".csv":
            part.write_bytes(as_csv(found).encode())
        else:
            save_price_list(_page(found, title, day), part, paper)


def as_csv(found: PriceList) -> str:
    """Return the list as CSV (RFC 4180, UTF-8)."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(_COLUMNS)
    for line in found.lines:
        low, high = line.speed or ("", "")
        warmth, salt = ("", "") if line.speed is None else _in_csv(found.water.water)
        bead = "" if line.bead_m is None else f"{line.bead_m * 1e3:.4g}"
        texts = (neutral(line.code), neutral(line.name), line.hook, bead, line.metal)
        writer.writerow([*texts, low, high, warmth, salt, f"{line.price:.2f}", neutral(found.money.currency)])
    return out.getvalue()


def _in_csv(water: Water | None) -> tuple[str, str]:
    """Return the warmth of a water in degrees Celsius and its salt in g/kg, empty where it is not known."""
    if water is None:
        return "", ""
    return f"{round(celsius(water.temperature), 2):g}", f"{round(water.salinity * 1e3, 2):g}"


def _page(found: PriceList, title: str, day: date) -> PricePage:
    money = found.money
    tax = "" if money.tax_percent is None else f" Prices include {money.tax_percent} % tax."
    rows = [
        (line.name, line.code, _tied_on(line), _sinks(line), money.written(line.price))
        for line in found.lines
    ]
    still = f"still water{_of(found.water.water)}"
    small = f"Speeds in {still}, where they were measured: a fly sinks at a speed between the two.{tax}"
    return PricePage(title, day.isoformat(), _HEADS, rows, small, [line.picture for line in found.lines])


def _of(water: Water | None) -> str:
    """Return the warmth of a water in words, and its salt where there is more than a trace."""
    if water is None:
        return ""
    salt = f" with {water.salinity * 1e3:.3g} g/kg of salt" if water.salinity > SAME_SALT else ""
    return f" of {round(celsius(water.temperature), 1):g} °C{salt}"


def _tied_on(line: PriceLine) -> str:
    bead = "no bead" if line.bead_m is None else f"{line.bead_m * 1e3:.3g} mm {line.metal}"
    return f"hook {line.hook}, {bead}"


def _sinks(line: PriceLine) -> str:
    return "" if line.speed is None else f"{line.speed[0]} to {line.speed[1]} cm/s"
