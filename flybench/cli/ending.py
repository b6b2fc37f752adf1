"""Being told to end: what was begun is put away first, as after Ctrl-C."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_ENDINGS = ("SIGTERM", "SIGHUP")
"""Signals that ask a program to end (POSIX): the system shuts down, the terminal is closed."""


@contextmanager
def ending_cleanly() -> Iterator[None]:
    """Have the signals that ask for an end unwind the program, so that no temporary file is left.

    A signal that was already ignored or handled stays so, as under ``nohup``. The exit code is 128 and the signal's number,
    as shells have it. Handlers are set in the main thread alone; elsewhere nothing changes.
    """
    numbers = [getattr(signal, name) for name in _ENDINGS if hasattr(signal, name)]
    usual = threading.current_thread() is threading.main_thread()
    taken = [number for number in numbers if usual and signal.getsignal(number) is signal.SIG_DFL]
    for number in taken:
        signal.signal(number, _end)
    try:
        yield
    finally:
        for number in taken:
            signal.signal(number, signal.SIG_DFL)


def _end(number: int, frame: FrameType | None) -> None:
    """Unwind the program; a second signal of the kind finds it at that already."""
    signal.signal(number, signal.SIG_IGN)
    sys.exit(128 + number)
