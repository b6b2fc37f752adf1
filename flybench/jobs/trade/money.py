"""The currency and the tax of a shop, kept once in its catalog."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
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

    def tax_in(self, amount: Decimal) -> Decimal | None:
        """Return the tax that is within an amount, rounded to whole cents; None where no tax is set."""
        if self.tax_percent is None:
            return None
        return (amount * self.tax_percent / (100 + self.tax_percent)).quantize(Decimal("0.01"))


def money_of(session: Session) -> Money:
    """Return the currency and the tax of a catalog."""
    currency, tax = setting(session, _CURRENCY), setting(session, _TAX)
    return Money(currency or "", None if tax is None else Decimal(tax))


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
    if 0 < found < _LEAST_TAX:
        cure = f'Write it as "{(100 * found).normalize():f} %" if that is meant'
        raise BadValueError("--tax", f'"{text}" is less than one per cent', cure)
    return f"{found.normalize():f}"
