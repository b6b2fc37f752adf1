"""Many things at once: a delivery that came, a sale at the till, a count of the shelves, and flies tied from stock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from sqlalchemy.orm import Session

from flybench.catalog.shelf import stock
from flybench.catalog.shelf.rows import named
from flybench.catalog.shelf.values import read_value
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.shelf.stock import retired_ones
from flybench.jobs.trade.goods import SUPPLIER, Goods, Line, Typed, lines_of
from flybench.jobs.trade.money import Money, money_of
from flybench.shop.next_fly.make_list import make_list_of

_NO_DEAL = stock.Deal()


@dataclass(frozen=True)
class Moved:
    """One line of goods that moved: what there was before and is now; price of one fly, and the sum of the line."""

    code: str
    name: str
    unit: str
    amount: float
    before: float
    after: float
    price: Decimal | None = None
    total: Decimal | None = None


@dataclass(frozen=True)
class Trade:
    """All lines of a delivery, a sale or a count, the money that they are in, remarks, and whether it is a sale."""

    lines: tuple[Moved, ...]
    money: Money
    remarks: tuple[str, ...] = ()
    sold: bool = False

    @property
    def total(self) -> Decimal | None:
        """Return the sum of all lines that have one, None where none has."""
        sums = [one.total for one in self.lines if one.total is not None]
        return sum(sums, Decimal(0)) if sums else None

    @property
    def tax(self) -> Decimal | None:
        """Return the tax within what was sold; None where none is set, and for what was bought, which the shop's own tax
        says nothing of."""
        return self.money.tax_in(self.total) if self.sold and self.total is not None else None


def deliver(catalog: Catalog, typed: Sequence[Typed], note: str = "", supplier: str = "") -> Trade:
    """Put a delivery on the shelf; a price is what was paid for the whole line, ``supplier`` whom all that names none of
    its own was bought from.

    Raises FlybenchError naming the line that cannot be; then nothing is written.
    """
    with catalog.writing() as session:
        done, money, lines = [], money_of(session), lines_of(session, typed)
        for line in lines:
            _refuse_nothing(line)
            deal = money.deal(line.price, line.supplier or _supplier(supplier))
            moved = _moved(session, line, line.amount, Why.BOUGHT, note, deal, line.price)
            done.append(replace(moved, price=None))
        return Trade(tuple(done), money, retired_ones([line.goods for line in lines]))


def _supplier(text: str) -> str:
    try:
        return read_value(SUPPLIER, text) or ""
    except BadValueError as error:
        raise FlybenchError(f"--{error}") from error


def sell(catalog: Catalog, typed: Sequence[Typed], note: str = "") -> Trade:
    """Sell flies off the shelf, at the price given or that of the variant. Raises as ``deliver`` does, and where there are
    fewer than are sold."""
    with catalog.writing() as session:
        done, money, lines = [], money_of(session), lines_of(session, typed, flies_only=True)
        remarks = [*retired_ones([line.goods for line in lines])]
        for line in lines:
            _refuse_nothing(line)
            assert isinstance(line.goods, Variant)
            price = line.goods.price if line.price is None else line.price
            total = None if price is None else price * int(line.amount)
            done.append(_moved(session, line, -line.amount, Why.SOLD, note, money.sale(price), total))
            if price is None:
                remarks.append(f"{line.goods.code} has no price, so it is not in the total.")
        return Trade(tuple(done), money, tuple(dict.fromkeys(remarks)), sold=True)


def counted_differences(catalog: Catalog, typed: Sequence[Typed]) -> Trade:
    """Return what a count would change, without writing it. Raises FlybenchError for a thing that is counted twice."""
    with catalog.reading() as session:
        lines = _counted_once(lines_of(session, typed))
        found = []
        for line in lines:
            before = stock.on_hand(session, line.goods)
            found.append(_line_of(line.goods, line.amount - before, before, line.amount))
        return Trade(tuple(found), money_of(session))


def take_stock(catalog: Catalog, typed: Sequence[Typed], note: str = "") -> Trade:
    """Set right the stock of everything that was counted, all of it or nothing; raises as ``counted_differences`` does."""
    with catalog.writing() as session:
        done = []
        for line in _counted_once(lines_of(session, typed)):
            before = stock.on_hand(session, line.goods)
            if line.amount != before:
                stock.move(session, line.goods, line.amount - before, Why.COUNTED, line.note or note)
            done.append(_line_of(line.goods, line.amount - before, before, line.amount))
        return Trade(tuple(done), money_of(session))


def tie(catalog: Catalog, typed: Sequence[Typed], note: str = "", even_if_short: bool = False) -> Trade:
    """Put tied flies on the shelf and take what they are made of off it, by the recipe.

    A material of which the stock was never kept is left alone, and named. Raises FlybenchError where there is not
    enough of another, unless ``even_if_short``: then what there is of it is taken.
    """
    with catalog.writing() as session:
        lines = lines_of(session, typed, flies_only=True)
        done, wanted = [], []
        for line in lines:
            _refuse_nothing(line)
            assert isinstance(line.goods, Variant)
            wanted.append((line.goods, int(line.amount)))
            done.append(_moved(session, line, line.amount, Why.TIED, note))
        used, remarks = _used(session, wanted, note, even_if_short)
        remarks = [*retired_ones([line.goods for line in lines]), *remarks]
        return Trade((*done, *used), money_of(session), tuple(remarks))


def _used(
    session: Session, wanted: Sequence[tuple[Variant, int]], note: str, even_if_short: bool
) -> tuple[list[Moved], list[str]]:
    """Take the materials of flies off the shelf; returns what went, and remarks on what did not."""
    needed = make_list_of(wanted, lambda material: stock.on_hand(session, material))
    used, remarks, short = [], list(needed.remarks), []
    for line in needed.lines:
        material = named(session, Material, line.code)
        if not line.needed:
            continue
        if not stock.movements(session, material):
            remarks.append(f"{line.code}: its stock is not kept, so none was taken off.")
            continue
        taken = min(line.needed, line.on_hand)
        if taken < line.needed:
            short.append(f"{line.code} ({line.needed:g} needed, {line.on_hand:g} in stock)")
        if taken > 0:
            after = stock.move(session, material, -taken, Why.USED, note)
            used.append(_line_of(material, -taken, line.on_hand, after))
    if short and not even_if_short:
        raise FlybenchError(
            f"There is not enough of {', '.join(short)}. Nothing was changed. Correct the stock with "
            "flybench stock count, or add --even-if-short to take what there is."
        )
    if short:
        remarks.append(f"There was not enough of {', '.join(short)}; what there was is taken off.")
    return used, remarks


def _moved(
    session: Session,
    line: Line,
    amount: float,
    why: Why,
    note: str,
    deal: stock.Deal = _NO_DEAL,
    total: Decimal | None = None,
) -> Moved:
    try:
        after = stock.move(session, line.goods, amount, why, line.note or note, deal)
    except BadValueError as error:
        raise FlybenchError(f"{line.where}{str(error).removeprefix('AMOUNT: ')}") from error
    return _line_of(line.goods, amount, after - amount, after, deal.price, total)


def _line_of(
    goods: Goods,
    amount: float,
    before: float,
    after: float,
    price: Decimal | None = None,
    total: Decimal | None = None,
) -> Moved:
    if isinstance(goods, Material):
        return Moved(goods.code, goods.name, goods.unit.value, amount, before, after, None, total)
    return Moved(goods.code, goods.pattern.name, "flies", amount, before, after, price, total)


def _refuse_nothing(line: Line) -> None:
    if not line.amount > 0:
        raise FlybenchError(
            f"{line.where}{line.goods.code}, amount: is zero. Give how many came or went, above zero."
        )


def _counted_once(lines: Sequence[Line]) -> Sequence[Line]:
    seen: dict[tuple[str, int], Line] = {}
    for line in lines:
        key = line.unit, line.goods.id
        if key in seen and seen[key].goods is line.goods:
            raise FlybenchError(
                f"{line.where}{line.goods.code}: is counted twice. Add the two up, and give it once; nothing was changed."
            )
        seen[key] = line
    return lines
