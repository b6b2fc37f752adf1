"""A catalog that was copied: words and machine form."""

from __future__ import annotations

from typing import Any

from flybench.catalog.store.copying import Copy
from flybench.telling.table import aligned
from flybench.telling.wording import counted


def lines(copy: Copy) -> list[str]:
    """Return what was copied, table by table; empty tables are not named."""
    rows = sum(table.rows for table in copy.tables)
    again = ", going on with a copy that was broken off" if copy.resumed else ""
    table = aligned(
        [[f"  {one.name}", str(one.rows), one.sha256[:12]] for one in copy.tables if one.rows]
        or [["", "", ""]],
        [False, True, False],
    )
    return [
        f"Copied {copy.source} to {copy.target}{again}.",
        f"Both places were compared, and hold the same {counted(rows, 'row')}. Below stand, for each table, its rows and the "
        "beginning of their checksum.",
        *table,
    ]


def record(copy: Copy) -> dict[str, Any]:
    """Return the machine form: rows and hash of every table."""
    return {
        "from": copy.source,
        "to": copy.target,
        "resumed": copy.resumed,
        "tables": [vars(table) for table in copy.tables],
    }
