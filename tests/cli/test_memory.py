"""What is done with little memory: the largest card, and a message where it does not suffice."""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path

import pytest
from console import flybench
from refusals import refused

GIGABYTE = 2**30


def test_too_little_memory_is_said(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def greedy(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("flybench.cli.bench.card.make_card", greedy)
    said = flybench(capsys, "bench", "card")
    refused(said, "there is not enough memory for this. Close other programs, or ask for less at a time.")


@pytest.mark.slow
def test_the_card_at_the_finest_dpi_takes_little_memory(tmp_path: Path) -> None:
    """The page alone takes half a gigabyte: 9921 x 14 031 px of four bytes."""

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (3 * GIGABYTE // 2, 3 * GIGABYTE // 2))

    words = ["bench", "card", "--format", "png", "--dpi", "1200", "--output", str(tmp_path / "card.png")]
    command = [sys.executable, "-m", "flybench", *words]
    done = subprocess.run(command, preexec_fn=limited, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, f"Wrote {tmp_path / 'card.png'}\n")
