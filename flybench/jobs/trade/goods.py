"""Goods as a user names them: CODE=AMOUNT one after the other, or a CSV file with a line for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.search.fields import Field
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get, named
from flybench.catalog.shelf.stock import NOTE, whole_things
from flybench.catalog.shelf.values import read_value
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.csv_lines import read_lines

Goods = Variant | Material
COLUMNS = ("code", "amount", "price", "note")
"""Columns of a file of goods; the first two are needed."""
OF_A_DELIVERY = (*COLUMNS, "supplier")
"""Columns of a file of goods that were bought."""
_MOST = 1_000_000
"""Pieces or units in one line (judgement; the table of flies holds no more)."""
_AMOUNT: Field = replace(NOUNS["material"].fields["pack"], name="amount", low=0)
_PRICE: Field = NOUNS["variant"].fields["price"]
SUPPLIER: Field = NOUNS["material"].fields["supplier"]


@dataclass(frozen=True)
class Typed:
    """One line of goods as it was typed: where it stands, for errors, its code, amount, price, note and supplier."""

    where: str
    code: str
    amount: str
    price: str = ""
    note: str = ""
    supplier: str = ""


@dataclass(frozen=True)
class Line:
    """One line of goods: the variant or material, how much of it, the price where one was given, a note, the supplier."""

    where: str
    goods: Goods
    amount: float
    price: Decimal | None
    note: str
    supplier: str

    @property
    def unit(self) -> str:
        """Return in what it is counted."""
        return self.goods.unit.value if isinstance(self.goods, Material) else "flies"


def typed_goods(words: Sequence[str], file: Path | None, columns: Sequence[str] = COLUMNS) -> list[Typed]:
    """Return what was typed as CODE=AMOUNT, CODE=AMOUNT@PRICE or CODE alone, which is one, and the lines of a CSV file.

    Parameters: columns, those that the file may have.

    Raises FlybenchError where neither was given, and for a file that cannot be read or lacks a column.
    """
    found = [_of_word(word) for word in words] + ([] if file is None else _of_file(file, columns))
    if not found and file is not None:
        raise FlybenchError(f"{file}: holds no goods below its first line. Add a line for each thing.")
    if not found:
        raise FlybenchError(
            "No goods were named. Name them as CODE=AMOUNT, or in a CSV file with --file FILE."
        )
    return found


def _of_word(word: str) -> Typed:
    code, sign, rest = word.rpartition("=")
    amount, _, price = rest.partition("@")
    if sign and (
        "://" not in word or amount[:1].isdigit()
    ):  # else it is an address that was read from a label
        return Typed("", code, amount, price)
    return Typed("", word, "1")


def _of_file(path: Path, columns: Sequence[str]) -> list[Typed]:
    head, *lines = read_lines(path)
    names = [name.strip().lower() for name in head]
    _check_columns(path, names, columns)
    found = []
    for number, cells in enumerate(lines, start=2):
        if any(cell.strip() for cell in cells):
            _refuse_longer(path, number, cells, len(names))
            values = dict(zip(names, (cell.strip() for cell in cells), strict=False))
            found.append(Typed(f"{path}, line {number}, ", **values))
    return found


def _check_columns(path: Path, names: Sequence[str], columns: Sequence[str]) -> None:
    for name in names:
        if name not in columns:
            raise FlybenchError(
                f'{path}, line 1: "{name}" is not a column of goods. Columns: {", ".join(columns)}.'
            )
        if names.count(name) > 1:
            raise FlybenchError(f"{path}, line 1: the column {name} is there twice. Keep one of them.")
    for name in COLUMNS[:2]:
        if name not in names:
            raise FlybenchError(
                f"{path}, line 1: the column {name} is missing. Add it, with a value in every line."
            )


def _refuse_longer(path: Path, number: int, cells: Sequence[str], width: int) -> None:
    """Refuse a line with more in it than columns are named, as 2,50 without quotation marks is two cells."""
    if any(cell.strip() for cell in cells[width:]):
        raise FlybenchError(
            f"{path}, line {number}: has {len(cells)} cells, but the first line has {width}. Correct that line."
        )


def lines_of(session: Session, typed: Sequence[Typed], flies_only: bool = False) -> list[Line]:
    """Return goods looked up, the same one in several lines too.

    ``flies_only`` where materials cannot be meant. Raises FlybenchError naming the line for a code that nothing
    or more than one thing has, and for an amount or a price that is none.
    """
    return [_line(session, one, flies_only) for one in typed]


def _line(session: Session, typed: Typed, flies_only: bool) -> Line:
    try:
        goods = _goods(session, typed.code, flies_only)
        _refuse_second(session, goods, typed.code)
    except BadValueError as error:
        raise FlybenchError(f"{typed.where}{error}") from error
    try:
        amount = _amount(goods, typed.amount)
        price = read_value(_PRICE, typed.price) if typed.price else None
        note = read_value(NOTE, typed.note) or ""
        supplier = read_value(SUPPLIER, typed.supplier) or ""
    except BadValueError as error:
        raise FlybenchError(f"{typed.where}{goods.code}, {error}") from error
    return Line(typed.where, goods, amount, price, note, supplier)


def _goods(session: Session, code: str, flies_only: bool) -> Goods:
    """Return the variant or material of a code; "material:" or "variant:" before it says which."""
    noun, sign, rest = code.partition(":")
    if sign and noun in ("material", "variant"):
        found: Goods = get(session, NOUNS[noun], rest)
        return found
    variant: Variant | None = named(session, Variant, code)
    material: Material | None = None if flies_only else named(session, Material, code)
    if variant is not None and material is not None:
        raise BadValueError(
            code, "is the code of a variant and of a material", f"Write variant:{code} or material:{code}"
        )
    if variant is None and material is None:
        found = _nearest(session, code, flies_only)
    return variant or material or found


def _refuse_second(session: Session, goods: Goods, scanned: str) -> None:
    """Refuse what was read from a label with the code of a second thing behind the first: nobody can tell how many moved.

    Words of its own name, and the variant that it is based on, may stand on its label.
    """
    if isinstance(goods, Variant):
        name, base = goods.pattern.name, goods.based_on
    else:
        name, base = goods.name, None
    of_its_name = name.casefold().split()
    for word in scanned.split()[1:]:
        other = named(session, type(goods), word)
        if other is not None and other not in (goods, base) and word.casefold() not in of_its_name:
            problem = f"holds the codes of two things, {goods.code} and {other.code}"
            raise BadValueError(scanned, problem, "Name each by its own code")


def _nearest(session: Session, code: str, flies_only: bool) -> Any:
    """Raise the error of a code that nothing has, with the nearest one of either kind."""
    told: BadValueError | None = None
    for noun in ("variant",) if flies_only else ("material", "variant"):
        try:
            get(session, NOUNS[noun], code)
        except BadValueError as error:
            told = error if told is None or "Did you mean" in str(error) else told
    assert told is not None
    raise told


def _amount(goods: Goods, text: str) -> float:
    amount = read_value(_AMOUNT, text)
    if amount is None:
        raise BadValueError("amount", "is empty", "Give how many came or went")
    if amount > _MOST:
        raise BadValueError("amount", f'"{text}" is not possible', f"Give a number up to {_MOST}")
    whole = whole_things(goods)
    if whole and amount != int(amount):
        raise BadValueError("amount", f"{amount:g} is not a whole number of {whole}", f"Give whole {whole}")
    return float(amount)
