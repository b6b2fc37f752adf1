"""A shop's catalog: what is on the shelf, the ladder, drag, predictions, comparisons, gaps, make-lists."""

from __future__ import annotations

import os
import warnings
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from flybench.catalog.search.cells import as_record, needed_for
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.catalog.store.open import open_catalog as open_store
from flybench.jobs.pooled.rules import by_these_rules
from flybench.library.result import Record, Result
from flybench.library.typed import PathText, Quantity, text_of, texts_of
from flybench.quantity import parse
from flybench.telling.wording import counted

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from flybench.charts.figure import Picture

ADDRESS = "FLYBENCH_CATALOG"
"""The environment's name for the usual catalog, as the command line reads it."""


class Table(Result):
    """Rows of a result, one dict a row in SI units; ``record`` holds the whole machine form."""

    def __init__(
        self, record: Any, lines: list[str], short: str, rows: list[Record], picture: Picture | None = None
    ):
        """Take the machine form, the words, one line, the rows, and the picture where there is one."""
        super().__init__(record, lines, short)
        self._rows, self._drawn = rows, picture

    def rows(self) -> list[Record]:
        """Return the rows."""
        return list(self._rows)

    def _drawing(self) -> Callable[[], Figure] | None:
        return None if self._drawn is None else self._drawn.figure


class Shop:
    """A catalog that is open; every method asks it anew. Codes and queries are those of the commands."""

    def __init__(self, catalog: Catalog) -> None:
        """Take an open catalog."""
        self.catalog = catalog

    def __repr__(self) -> str:
        """Return where it is."""
        return f"<catalog: {self.catalog.name}>"

    # what is on the shelf

    def materials(self, *query: str, columns: str = "", sort: str = "", limit: int = 0) -> Table:
        """Return the materials that a query finds, as ``flybench material list`` does."""
        return self._list("material", query, columns, sort, limit)

    def patterns(self, *query: str, columns: str = "", sort: str = "", limit: int = 0) -> Table:
        """Return the patterns that a query finds."""
        return self._list("pattern", query, columns, sort, limit)

    def variants(self, *query: str, columns: str = "", sort: str = "", limit: int = 0) -> Table:
        """Return the variants that a query finds."""
        return self._list("variant", query, columns, sort, limit)

    def flies(self, *query: str, columns: str = "", sort: str = "", limit: int = 0) -> Table:
        """Return the flies that a query finds: ``shop.flies("bead:2.8", sort="sink down")``."""
        return self._list("fly", query, columns, sort, limit)

    def runs(self, *query: str, columns: str = "", sort: str = "", limit: int = 0) -> Table:
        """Return the bench runs that a query finds."""
        return self._list("run", query, columns, sort, limit)

    def _list(self, name: str, query: tuple[str, ...], columns: str, sort: str, limit: int) -> Table:
        from flybench.jobs.shelf.rows import list_rows
        from flybench.telling.shelf.catalog_rows import records, row_table
        from flybench.telling.shelf.query_read import how_read

        noun = NOUNS[name]
        names = [one.strip() for one in columns.split(",") if one.strip()] or list(noun.shown)
        page = list_rows(self.catalog, noun, _words(query), sort, limit, needed_for(noun, names))
        lines = row_table(noun, page.rows, names).lines if page.rows else [f"No {noun.plural} found."]
        lines += how_read(noun, _words(query))
        rows = records(noun, page.rows)
        return Table(rows, lines, f"<{counted(len(rows), noun.name, noun.plural)}>", rows)

    def add(self, noun: str, code: str, **fields: Quantity) -> Record:
        """Add a thing, as ``flybench NOUN add CODE`` does; fields are named as the options. Returns its row."""
        from flybench.jobs.shelf.rows import add_row

        plain = {name: str(one) if isinstance(one, int | float) else one for name, one in fields.items()}
        row = add_row(self.catalog, NOUNS[noun], {"code": code, **texts_of(plain)})
        return as_record(NOUNS[noun], row)

    # how flies sink

    def ladder(self, *query: str, variants: bool = False, limit: int = 0) -> Table:
        """Return measured flies (or variants) from the slowest to the fastest, as ``flybench ladder`` does."""
        from flybench.jobs.sink.ladder import ladder
        from flybench.telling.sink import ladder as telling

        found = ladder(self.catalog, _words(query), variants, limit)
        return _table(found, telling, f"ladder: {counted(len(found.rungs), 'rung')}")

    def drag(self, *query: str) -> Table:
        """Return the drag of measured flies, as ``flybench sink drag`` does."""
        from flybench.jobs.sink.drags import drags
        from flybench.telling.sink import drag as telling

        found = drags(self.catalog, _words(query))
        return _table(found, telling, f"drag of {counted(len(found.flies), 'fly', 'flies')}")

    def at(self, *query: str, temperature: Quantity, salinity: Quantity = "0 g/kg") -> Table:
        """Return the sink speeds of measured flies in other water, as ``flybench sink at`` does."""
        from flybench.jobs.sink.other_water import in_other_water
        from flybench.telling.sink import other_water as telling

        water = _water(temperature, salinity)
        found = in_other_water(self.catalog, _words(query), *water, rests_on=True)
        return _table(found, telling, f"{counted(len(found.flies), 'fly', 'flies')} in other water")

    def law(self, code: str) -> Table:
        """Return the drag law of a fly, a variant or a pattern, as ``flybench sink law`` does."""
        from flybench.charts.drag_law import law_picture
        from flybench.jobs.sink.law import drag_law
        from flybench.telling.sink import law as telling

        found = drag_law(self.catalog, code)
        return _table(found, telling, f"drag law of {code}", law_picture(found.law))

    def predict(
        self,
        *variants: str,
        pattern: str | None = None,
        hook: str | None = None,
        bead: str | tuple[str, ...] | list[str] = (),
        step: Mapping[int, float] | None = None,
        learn_from: str = "",
        temperature: Quantity | None = None,
        salinity: Quantity | None = None,
    ) -> Table:
        """Predict flies that are not tied yet, as ``flybench sink predict`` does: arguments named as its options."""
        from flybench.charts.prediction import prediction_picture
        from flybench.jobs.sink.predict import Wish, predict
        from flybench.telling.sink import prediction as telling

        beads = (bead,) if isinstance(bead, str) else tuple(bead)
        kelvin, salt = _water(temperature, salinity)
        found = predict(
            self.catalog,
            Wish(variants, pattern, hook, beads, step or {}),
            learn_from=(learn_from,) if learn_from else (),
            temperature=kelvin,
            salinity=salt,
        )
        short = counted(len(found.flies), "predicted fly", "predicted flies")
        return _table(found, telling, short, prediction_picture(found))

    def compare(self, *codes: str, variants: bool = False) -> Table:
        """Say which of measured flies sinks faster and how surely, as ``flybench sink compare`` does."""
        from flybench.charts.comparison import compared_picture
        from flybench.jobs.sink.compare import compare_measured
        from flybench.telling.sink import comparison as telling

        found = compare_measured(self.catalog, codes, variants)
        return _table(
            found, telling, f"{counted(len(found.pairs), 'pair')} compared", compared_picture(found)
        )

    def gaps(self, *box: str, wider_than: float = 1.25) -> Table:
        """Return speeds that the box lacks, and what to tie, as ``flybench sink gaps`` does."""
        from flybench.jobs.sink.gaps import find_gaps
        from flybench.telling.sink import gaps as telling

        found = find_gaps(self.catalog, _words(box) or ("sink:any",), wider_than)
        return _table(found, telling, counted(len(found.gaps), "gap"), rows="gaps")

    def make_list(self, **dozens: float) -> Table:
        """Return what dozens of flies take: ``shop.make_list(**{"moss-hackle-12": 2})``."""
        from flybench.jobs.shelf.make_list import make_list
        from flybench.telling.shelf import make_list as telling

        found = make_list(self.catalog, dozens)
        return _table(found, telling, f"make-list: {counted(len(found.lines), 'material')}")


def open_catalog(catalog: PathText | None = None, *, make: bool = False) -> Shop:
    """Open a catalog: a file, or "postgresql://..."; without a name the usual one (``flybench catalog where``).

    Raises FlybenchError where there is none, unless ``make`` allows one to be made.
    """
    from flybench.catalog.store.usual_place import default_address

    address = str(catalog) if catalog is not None else os.environ.get(ADDRESS) or default_address()
    return Shop(by_these_rules(open_store(address, make=make), warnings.warn))


def _words(query: tuple[str, ...]) -> list[str]:
    """Return the words of queries as a command line would split them."""
    import shlex

    return [word for text in query for word in shlex.split(text)]


def _water(temperature: Quantity | None, salinity: Quantity | None) -> tuple[Any, Any]:
    kelvin = None if temperature is None else parse(text_of(temperature, "temperature"), "K", "temperature")
    salt = None if salinity is None else parse(text_of(salinity, "salinity"), "kg/kg", "salinity")
    return kelvin, salt


def _table(found: Any, telling: Any, short: str, picture: Picture | None = None, rows: str = "") -> Table:
    """Return a result as its module of ``telling`` says it; its rows are the one list of its machine form, or ``rows``."""
    record = telling.record(found)
    listed = record[rows] if rows else _rows_of(record)
    return Table(record, telling.lines(found), f"<{short}>", list(listed), picture)


def _rows_of(record: Any) -> list[Record]:
    """Return the one list of dicts that a machine form holds, itself where it is a list."""
    if isinstance(record, list):
        return record
    lists = [
        value for value in record.values() if isinstance(value, list) and value and isinstance(value[0], dict)
    ]
    return lists[0] if lists else [record]
