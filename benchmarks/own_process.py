"""Trying things in a process of their own, so that whatever they do leaves nothing behind."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import sys
from collections.abc import Callable
from typing import Any


def in_child(what: Callable[[Any], Any], given: object) -> Any:
    """Return what a function returns in a process of its own."""
    here, there = os.pipe()
    child = os.fork()
    if not child:
        os.close(here)
        with contextlib.suppress(BaseException):
            _silent()
            with os.fdopen(there, "wb") as out:
                pickle.dump(what(given), out)
        os._exit(0)
    os.close(there)
    with os.fdopen(here, "rb") as got:
        answer = got.read()
    os.waitpid(child, 0)
    return pickle.loads(answer) if answer else None


def fails(what: Callable[[], bool], limit: float) -> bool:
    """Tell whether tests fail, or do not end in time, in a process of their own."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] != 0
    code = 1
    try:
        signal.setitimer(signal.ITIMER_PROF, limit)  # its signal ends the process
        _silent()
        code = 0 if what() else 1
    finally:  # a mutant may end in any way
        os._exit(code)


def _silent() -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    sys.stdout = sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
