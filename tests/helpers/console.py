"""Running the command line in this process, as a user would meet it."""

from __future__ import annotations

import signal
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from flybench.cli import main


@dataclass(frozen=True)
class Said:
    """What a command printed and how it ended."""

    code: int
    out: str
    err: str


def flybench(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Said:
    """Run ``flybench ARGUMENTS`` through the same main() that the console script calls."""
    before = sys.argv
    sys.argv = ["flybench", *(str(argument) for argument in arguments)]
    code = 0
    try:
        main()
    except SystemExit as ending:
        code = int(ending.code or 0)
    finally:
        sys.argv = before
    out, err = capsys.readouterr()
    return Said(code, out, err)


def heed_ctrl_c() -> None:
    """Let a child process heed Ctrl-C and the end of its terminal; shells and ``nohup`` have what they run ignore them.

    To be given to ``subprocess`` as ``preexec_fn``.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
