"""A program that is told to end leaves no temporary file: SIGTERM as the system shuts down, SIGHUP as the terminal is closed.

Exit code: 128 and the number of the signal (POSIX shells; 143 for SIGTERM).
"""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from console import flybench, heed_ctrl_c

WRITING = """
import sys, time
from pathlib import Path
from flybench.cli.ending import ending_cleanly
from flybench.files import whole_file
with ending_cleanly(), whole_file(Path(sys.argv[1])) as part:
    part.write_text("half")
    print("started", flush=True)
    time.sleep(60)
"""
RUNNING = "from flybench.cli import main; main()"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_half_a_file_is_put_away(number: signal.Signals, tmp_path: Path) -> None:
    command = [sys.executable, "-c", WRITING, str(tmp_path / "page.png")]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        preexec_fn=heed_ctrl_c,  # noqa: PLW1509
    ) as running:
        assert running.stdout is not None
        running.stdout.readline()
        assert len(list(tmp_path.iterdir())) == 1
        running.send_signal(number)
        code = running.wait(timeout=30)
    assert code == (-signal.SIGINT if number == signal.SIGINT else 128 + number)
    assert list(tmp_path.iterdir()) == []


def test_signals_that_are_ignored_stay_so(capsys: pytest.CaptureFixture[str]) -> None:
    """Under ``nohup`` a program goes on when the terminal is closed (POSIX)."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        assert flybench(capsys, "--version").code == 0
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_an_overlay_that_is_being_drawn_is_put_away(number: signal.Signals, clip: Path) -> None:
    overlay = clip.with_name("o.mp4")
    words = ["bench", "measure", str(clip), "--overlay", str(overlay), "--no-report"]
    with subprocess.Popen(
        [sys.executable, "-c", RUNNING, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=heed_ctrl_c,  # noqa: PLW1509
    ) as running:
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline and not list(clip.parent.glob(".o.*.part.mp4")):
            time.sleep(0.01)
        running.send_signal(number)
        out, err = running.communicate(timeout=60)
    assert (running.returncode, out) == (1 if number == signal.SIGINT else 143, "")
    assert "Traceback" not in err
    assert {path.suffix for path in clip.parent.iterdir()} == {".mp4", ".toml"}
    assert not overlay.exists()
