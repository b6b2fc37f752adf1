"""A day at the shop's desk as one of several processes; run by the tests of its safety, told by its first argument.

killed  ADDRESS COUNT SEED FOLDER: so often forks a clerk who works on and on, and kills it at a random moment; says "fair"
        each time that flies, prices and names stand as whole commands leave them
till    ADDRESS COUNT: forks so many clerks at one moment, each of whom sells one of each fly until there are none; says how
        many each sold
fill    ADDRESS BYTES FOLDER: works on until a file would grow over so many bytes
"""

from __future__ import annotations

import multiprocessing
import os
import random
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator
from itertools import count as counting
from pathlib import Path

from PIL import Image
from sqlalchemy import select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.check import check
from flybench.catalog.shelf.stock import on_hand
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError
from flybench.jobs.history.changes import last_change, undo_change
from flybench.jobs.photos.photos import add_photo, remove_photo
from flybench.jobs.shelf.rows import change_row
from flybench.jobs.trade.csv_update import update_from
from flybench.jobs.trade.goods import typed_goods
from flybench.jobs.trade.money import set_money, shown_money
from flybench.jobs.trade.stock_moved import deliver, sell, take_stock

BOTH = ("MILL-28-14", "MILL-24-16")
"""Two variants that every command of the day moves, prices and counts alike."""
MONEY = {"EUR": "19", "CHF": "8.1"}
ROUND = 9
"""Commands of a round."""


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _goods(amount: int) -> list[str]:
    return [f"{code}={amount}" for code in BOTH]


def _day(address: str, folder: Path) -> Iterator[None]:
    """Work on and on; after each command the clerk stops for a moment."""
    catalog = open_catalog(address)
    prices, picture = folder / f"prices-{os.getpid()}.csv", folder / f"photo-{os.getpid()}.jpg"
    Image.effect_noise((120, 80), 50).convert("RGB").save(picture)
    for number in counting():
        price = f"{1 + number % 90}.50"
        prices.write_text("code,price\n" + "".join(f"{code},{price}\n" for code in BOTH), encoding="utf-8")
        currency = list(MONEY)[number % 2]
        commands: list[Callable[[], object]] = [
            lambda: deliver(catalog, typed_goods([*_goods(3), "H14=5@2.50"], None), "", "A Mill"),
            lambda: sell(catalog, typed_goods(_goods(1), None)),
            lambda price=prices: update_from(catalog, NOUNS["variant"], price, None),
            lambda currency=currency: set_money(catalog, currency, MONEY[currency]),
            lambda: take_stock(catalog, typed_goods(_goods(2), None)),
            lambda: change_row(
                catalog, NOUNS["pattern"], "MILL", {"name": "Mill Pond", "retired": "2026-05-01"}
            ),
            lambda: undo_change(catalog, last_change(catalog).number),
            lambda: add_photo(catalog, "pattern", "MILL", picture, "drawn"),
            lambda: remove_photo(catalog, "pattern", "MILL", picture.name),
        ]
        for command in commands:
            command()
            yield


def _is_fair(catalog: Catalog) -> bool:
    """Tell whether everything stands as whole commands leave it."""
    if check(catalog):
        return False
    money = shown_money(catalog)
    with catalog.reading() as session:
        both = [session.scalars(select(Variant).where(Variant.code == code)).one() for code in BOTH]
        stock, prices = {on_hand(session, one) for one in both}, {one.price for one in both}
    taxes = {"": None, **MONEY}
    tax = None if money.tax_percent is None else str(money.tax_percent)
    return len(stock) == 1 and len(prices) == 1 and tax == taxes[money.currency]


def killed(address: str, times: str, seed: str, folder: str) -> None:
    chance, begun = random.Random(int(seed)), time.perf_counter()
    if os.fork() == 0:  # one round of all commands, after which both variants are alike
        for _ in zip(range(ROUND), _day(address, Path(folder)), strict=False):
            pass
        os._exit(0)
    os.wait()
    took = time.perf_counter() - begun
    for _ in range(int(times)):
        child = os.fork()
        if child == 0:
            for _ in _day(address, Path(folder)):
                pass
        time.sleep(chance.uniform(0.1, 1.3) * took)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        if os.fork() == 0:  # a new process each time: none keeps a connection that another one made
            _say("fair" if _is_fair(open_catalog(address)) else "not fair")
            os._exit(0)
        os.wait()


def till(address: str, clerks: str) -> None:
    forking = multiprocessing.get_context("fork")
    gate = forking.Barrier(int(clerks))
    at_work = [forking.Process(target=_sold_out, args=(gate, address)) for _ in range(int(clerks))]
    for clerk in at_work:
        clerk.start()
    for clerk in at_work:
        clerk.join()


def _sold_out(gate: object, address: str) -> None:
    gate.wait()  # type: ignore[attr-defined]
    catalog, sold = open_catalog(address), 0
    try:
        while True:
            sell(catalog, typed_goods(_goods(1), None))
            sold += 1
    except FlybenchError as error:
        _say(f"{sold} {error}")


def fill(address: str, limit: str, folder: str) -> None:
    day = _day(address, Path(folder))
    next(day)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # the write then fails instead
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
    for _ in day:
        pass


WORKS: dict[str, Callable[..., None]] = {"killed": killed, "till": till, "fill": fill}

if __name__ == "__main__":
    try:
        WORKS[sys.argv[1]](*sys.argv[2:])
    except FlybenchError as error:
        _say(f"Error: {error}")
        sys.exit(1)
