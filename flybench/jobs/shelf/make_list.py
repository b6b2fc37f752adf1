"""The make-list of a catalog: variants named with dozens to materials, shortages and costs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf import stock
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError
from flybench.shop.next_fly.make_list import MakeList, make_list_of, whole_flies


def make_list(catalog: Catalog, wanted: Mapping[str, float]) -> MakeList:
    """Return what is needed for dozens of flies by variant code; halves of a dozen are allowed.

    Raises BadValueError for an unknown variant or a number of flies that is not whole or too large.
    """
    if not wanted:
        raise BadValueError("VARIANT", "none was named", "Name variants with dozens, as in MILL-28-14=2")
    with catalog.reading() as session:
        flies = [
            (get(session, NOUNS["variant"], code), whole_flies(code, dozens))
            for code, dozens in wanted.items()
        ]
        return make_list_of(flies, partial(stock.on_hand, session))
