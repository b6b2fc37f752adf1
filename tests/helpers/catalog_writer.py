"""Writes to a catalog as one of several processes; run by the tests of the catalog's safety, told by its first argument.

together  COUNT NAME ...: forks so many processes, which begin with the work of that name at the same moment; {} in an
          argument is the number of each
open      ADDRESS ...: opens each, and says "ok"
batches   ADDRESS BEGINNING COUNT: saves so many batches, each in its own transaction, and says each one's code
killed    ADDRESS BEGINNING COUNT SEED: so often forks a writer and kills it at a random moment; says the codes
          of all batches that were saved before
restored  ADDRESS COUNT SEED BACKUP BACKUP: so often forks one that puts a backup back, the other each time, and
          kills it at a random moment; says how many batches there are then
fill      ADDRESS BYTES: saves batches until a file would grow over so many bytes (0: until the disk is full)
refused   ADDRESS PATH MODE: opens, takes the rights from PATH, gives up its own, and writes
"""

from __future__ import annotations

import multiprocessing
import os
import random
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from threading import Barrier

from shelves import add_batch, whole_batches

from flybench.catalog.shelf.check import check
from flybench.catalog.store.backup import put_back
from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError

NOBODY = 65534
MOST_SAVED = 4
"""A writer is killed at a random moment after it has saved so many batches or fewer: also on a busy machine."""
LONGEST_S = 0.03


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def together(count: str, name: str, *arguments: str) -> None:
    """Let processes work at once: forked, so that all begin when the last is ready, and none has to import."""
    forking = multiprocessing.get_context("fork")
    gate = forking.Barrier(int(count))
    told = [[argument.format(number) for argument in arguments] for number in range(int(count))]
    writers = [forking.Process(target=_one_of, args=(gate, name, *each)) for each in told]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    sys.exit(any(writer.exitcode for writer in writers))


def _one_of(gate: Barrier, name: str, *arguments: str) -> None:
    gate.wait()
    WORKS[name](*arguments)


def opener(*addresses: str) -> None:
    for address in addresses:
        open_catalog(address)
        _say("ok")


def batches(address: str, beginning: str, count: str) -> None:
    catalog = open_catalog(address)
    for number in range(int(count)):
        with catalog.writing() as session:
            add_batch(session, f"{beginning}{number}")
        _say(f"{beginning}{number}")


def killed(address: str, beginning: str, count: str, seed: str) -> None:
    chance = random.Random(int(seed))
    _warm_up()
    open_catalog(address)
    for number in range(int(count)):
        after, moment = chance.randrange(MOST_SAVED + 1), chance.uniform(0, LONGEST_S)
        _say(_one_kill(address, f"{beginning}{number}-", after, moment))


def _warm_up() -> None:
    """Save a batch elsewhere, so that writers forked from here do not each prepare the tables' classes anew."""
    with (
        tempfile.TemporaryDirectory() as folder,
        open_catalog(f"{folder}/catalog.sqlite").writing() as session,
    ):
        add_batch(session, "elsewhere")


def _one_kill(address: str, beginning: str, after: int, moment_s: float) -> str:
    """Return what a writer said until it was killed; a line that was not said to its end was not said."""
    reading, writing = os.pipe()

    def write() -> None:
        os.dup2(writing, 1)
        os.close(reading)
        batches(address, beginning, "100000")

    writer = _forked(write)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        said = "".join(pipe.readline() for _ in range(after))
        time.sleep(moment_s)
        os.kill(writer, signal.SIGKILL)
        _, status = os.waitpid(writer, 0)
        said += pipe.read()
    assert os.WIFSIGNALED(status), said
    return " ".join(said[: said.rfind("\n") + 1].split())


def _forked(work: Callable[[], None]) -> int:
    """Return the number of a new process that does the work, and never comes back into the mother's code."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            os._exit(1)
    return child


def restored(address: str, count: str, seed: str, *sources: str) -> None:
    chance = random.Random(int(seed))
    begun = time.perf_counter()
    os.waitpid(_forked(lambda: put_back(Path(sources[1]), Path(address))), 0)
    took = time.perf_counter() - begun
    for number in range(int(count)):
        source = Path(sources[number % 2])
        child = _forked(lambda source=source: put_back(source, Path(address)))
        time.sleep(chance.uniform(0, 1.5 * took))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        catalog = open_catalog(address)
        with catalog.reading() as session:
            _say(f"{len(whole_batches(session))}-{len(check(catalog))}")


def fill(address: str, limit: str) -> None:
    catalog = open_catalog(address)
    if int(limit):
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # the write then fails instead
        resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
    for number in range(1000):
        with catalog.writing() as session:
            add_batch(session, f"fill-{number}", 100_000)
        _say(f"fill-{number}")


def refused(address: str, path: str, mode: str) -> None:
    catalog = open_catalog(address)
    Path(path).chmod(int(mode, 8))
    if os.geteuid() == 0:  # rights do not bind an administrator
        os.seteuid(NOBODY)
    with catalog.writing() as session:
        add_batch(session, "refused")
    _say("refused")


WORKS: dict[str, Callable[..., None]] = {
    "together": together,
    "open": opener,
    "batches": batches,
    "killed": killed,
    "restored": restored,
    "fill": fill,
    "refused": refused,
}

if __name__ == "__main__":
    try:
        WORKS[sys.argv[1]](*sys.argv[2:])
    except FlybenchError as error:
        _say(f"Error: {error}")
        sys.exit(1)
