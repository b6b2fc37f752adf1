"""What is asked of a catalog for one run, one fly or one page of a list goes by indexes, however many rows there are."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from servers import fresh_database
from shop import shop
from sqlalchemy import event
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.shelf.counted_runs import counted_of, newest_counted, waters
from flybench.catalog.shelf.rows import get
from flybench.catalog.shelf.runs import refuse_known, refuse_of_another
from flybench.catalog.store.open import Catalog

SHA = "0" * 64
ASKED: dict[str, Callable[[Session], Any]] = {
    "the newest runs": lambda session: newest_counted(session, 4000),
    "the runs of a fly": lambda session: counted_of(session, flies=["M1"]),
    "the runs of a variant": lambda session: counted_of(session, variants=[1]),
    "the waters of all runs": waters,
    "a fly by its code": lambda session: get(session, NOUNS["fly"], "M1"),
    "whether a clip is known": lambda session: refuse_known(
        session, get(session, NOUNS["fly"], "M1"), SHA, SHA
    ),
    "whether another fly has it": lambda session: refuse_of_another(
        session, get(session, NOUNS["fly"], "M1"), SHA, "", SHA
    ),
    "a page of flies": lambda session: select_rows(session, NOUNS["fly"], "", "code", 100, ("code", "sink")),
    "a page of runs": lambda session: select_rows(
        session, NOUNS["run"], "", "number", 100, ("number", "fly")
    ),
}
"""What is asked, in words, and how. No table of runs or flies may be gone through for it row by row, in whatever order."""
LARGE = ("fly", "bench_run", "counted_run", "fly_speed")


@pytest.fixture(scope="module")
def on_file(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    return shop(tmp_path_factory.mktemp("plans") / "shop.sqlite")


@pytest.fixture(scope="module")
def on_server(server: str) -> Iterator[Catalog]:
    with fresh_database(server) as address:
        yield shop(address)


def plans(catalog: Catalog, ask: Callable[[Session], Any], explain: str, first: str = "") -> list[str]:
    """Return the lines of the database's plan for each statement that is sent to read, but of those that read the table's own
    order up to a limit: no more rows are looked at than wanted."""
    sent: list[tuple[str, Any]] = []

    def note(connection: Any, cursor: Any, statement: str, parameters: Any, context: Any, many: bool) -> None:
        if statement.startswith("SELECT"):
            sent.append((statement, parameters))

    event.listen(catalog.engine, "before_cursor_execute", note)
    with catalog.reading() as session:
        ask(session)
    event.remove(catalog.engine, "before_cursor_execute", note)
    with catalog.engine.connect() as connection:
        if first:
            connection.exec_driver_sql(first)
        rows = [
            (text, connection.exec_driver_sql(f"{explain} {text}", values).all()) for text, values in sent
        ]
    assert rows
    told = [(text, [str(line[-1]) for line in lines]) for text, lines in rows]
    return [line for text, lines in told if "LIMIT" not in text or _sorts(lines) for line in lines]


def _sorts(plan: list[str]) -> bool:
    """Tell whether a plan puts rows in order itself."""
    return any("USE TEMP B-TREE FOR ORDER BY" in line or "Sort" in line for line in plan)


@pytest.mark.parametrize("what", ASKED)
def test_plans_of_a_file(on_file: Catalog, what: str) -> None:
    found = plans(on_file, ASKED[what], "EXPLAIN QUERY PLAN")
    assert [line for line in found if line in {f"SCAN {table}" for table in LARGE}] == []


@pytest.mark.parametrize("what", ASKED)
def test_plans_of_a_server(on_server: Catalog, what: str) -> None:
    """An empty table is gone through whatever its indexes, unless that is made dear."""
    found = plans(on_server, ASKED[what], "EXPLAIN", "SET enable_seqscan = off")
    assert [line for line in found if any(f"Seq Scan on {table} " in line for table in LARGE)] == []
