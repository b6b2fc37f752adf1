"""The currency and the tax of a shop, kept once in its catalog."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.stock import Deal
from flybench.catalog.shelf.values import read_value
from flybench.catalog.store.open import Catalog
from flybench.catalog.store.settings import keep_setting, setting
from flybench.errors import BadValueError

_CURRENCY, _TAX = "currency", "tax"
"""Keys of the settings: what stands before a price, and the share of tax within it in per cent."""
_LONGEST = 8
"""Letters of a currency (judgement: the longest usual names of currencies, such as "francs", fit)."""
_MOST_TAX = Decimal(100)
"""Tax above this is a slip of the hand [per cent] (judgement: no sales tax comes near it)."""
_TAX_PLACES = 6
"""Digits behind the point of a tax in per cent, as sales keep it (judgement: the finest in use have three)."""
_LEAST_TAX = Decimal(1)
"""Tax below this, but for none, is a share that was meant as a hundred times as much [per cent] (judgement)."""


@dataclass(frozen=True)
class Money:
    """What stands before every price, and the tax that is within it in per cent; "" and None where not set."""

    currency: str = ""
    tax_percent: Decimal | None = None

    def written(self, amount: Decimal) -> str:
        """Return an amount with its currency: "EUR 2.40"."""
        return f"{self.currency} {amount:.2f}".strip()

    def deal(self, price: Decimal | None, supplier: str = "") -> Deal:
        """Return the deal of goods that were bought at a price: what is paid says nothing of the shop's own tax."""
        return Deal(price, self.currency, None, supplier)

    def sale(self, price: Decimal | None) -> Deal:
        """Return the deal of flies that were sold at a price each."""
        return Deal(price, self.currency, self.tax_percent)

    def tax_in(self, amount: Decimal) -> Decimal | None:
        """Return the tax that is within an amount, rounded to whole cents; None where no tax is set."""
        if self.tax_percent is None:
            return None
        return (amount * self.tax_percent / (100 + self.tax_percent)).quantize(Decimal("0.01"))


def money_of(session: Session) -> Money:
    """Return the currency and the tax of a catalog."""
    currency, tax = setting(session, _CURRENCY), setting(session, _TAX)
    return Money(currency or "", None if tax is None else Decimal(tax))


def plain_tax(per_cent: Decimal) -> Decimal:
    """Return a tax as it was set, without the zeros that a column of the database puts behind it."""
    return Decimal(f"{per_cent.normalize():f}")


def shown_money(catalog: Catalog) -> Money:
    """Return the currency and the tax of a catalog."""
    with catalog.reading() as session:
        return money_of(session)


def set_money(catalog: Catalog, currency: str | None, tax: str | None) -> Money:
    """Keep the currency, the tax, or both; an empty text takes either away.

    Raises BadValueError for a currency that is too long or holds what no text may, and for a tax that is no per cent.
    """
    wanted: dict[str, str | None] = {}
    if currency is not None:
        wanted[_CURRENCY] = _currency(currency)
    if tax is not None:
        wanted[_TAX] = _per_cent(tax)
    with catalog.writing() as session:
        for key, value in wanted.items():
            keep_setting(session, key, value)
        session.flush()
        return money_of(session)


def _currency(text: str) -> str | None:
    try:
        plain: str | None = read_value(NOUNS["material"].fields["size"], text)
    except BadValueError as error:
        problem, _, cure = str(error).removeprefix("size: ").rstrip(".").rpartition(". ")
        raise BadValueError("--currency", problem, cure) from error
    if plain is not None and len(plain) > _LONGEST:
        raise BadValueError("--currency", f'"{plain}" is longer than {_LONGEST} letters', "Write it as EUR")
    return plain


def _per_cent(text: str) -> str | None:
    bare = text.strip().removesuffix("%").strip().replace(",", ".")
    if not bare:
        return None
    try:
        found = Decimal(bare)
    except InvalidOperation:
        found = Decimal("NaN")
    if not found.is_finite() or not 0 <= found < _MOST_TAX:
        raise BadValueError("--tax", f'"{text}" is not a tax in per cent', 'Write it as "19 %"')
    if found != round(found, _TAX_PLACES):
        cure = f"Give at most {_TAX_PLACES} digits behind the point"
        raise BadValueError("--tax", f'"{text}" is finer than is kept', cure)
    if 0 < found < _LEAST_TAX:
        cure = f'Write it as "{(100 * found).normalize():f} %" if that is meant'
        raise BadValueError("--tax", f'"{text}" is less than one per cent', cure)
    return f"{found.normalize():f}"
