"""A pipe, a socket, a device or a folder in the place of a sheet, a set-up or a clip: refused at once, never waited for."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest
from console import flybench
from refusals import CARD, refused

Capture = pytest.CaptureFixture[str]
KINDS = {
    "pipe": "no ordinary file",
    "socket": "No such device or address",
    "folder": "Is a directory",
    "device": "no ordinary file",
}
"""What the message gives as the reason; a socket cannot be opened at all (POSIX, open: ENXIO)."""


def placed(kind: str, path: Path) -> None:
    """Put a thing of a kind at a path."""
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    elif kind == "device":
        path.symlink_to("/dev/zero")
    else:
        here = Path.cwd()
        os.chdir(path.parent)  # the names of sockets are short
        try:
            with socket.socket(socket.AF_UNIX) as made:
                made.bind(path.name)
        finally:
            os.chdir(here)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("beside", [True, False])
def test_no_file_as_a_sheet(kind: str, beside: bool, tmp_path: Path, capsys: Capture) -> None:
    clip = tmp_path / "drop.mp4"
    clip.write_bytes(b"clip")
    sheet = tmp_path / ("drop.toml" if beside else "other.toml")
    placed(kind, sheet)
    for verb in ("measure", "look"):
        said = flybench(capsys, "bench", verb, clip, *(() if beside else ("--sheet", sheet)))
        refused(said, f"{sheet}: cannot be read ({KINDS[kind]}). Check the name.")


@pytest.mark.parametrize("kind", KINDS)
def test_no_file_as_a_set_up(
    kind: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLYBENCH_SET_UPS", str(tmp_path))
    clip, path = tmp_path / "drop.mp4", tmp_path / "kitchen.toml"
    clip.write_bytes(b"clip")
    placed(kind, path)
    said = flybench(capsys, "bench", "measure", clip, *CARD, "--set-up", "kitchen")
    refused(said, f"{path}: cannot be read as a set-up ({KINDS[kind]}). Keep it again with --save.")


@pytest.mark.parametrize("kind", KINDS)
def test_no_file_as_a_clip(kind: str, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "drop.mp4"
    placed(kind, path)
    for verb in (["measure", *CARD], ["look"], ["sheet"]):
        said = flybench(capsys, "bench", verb[0], path, *verb[1:])
        refused(
            said,
            f"{path}: is a folder. Give the clip itself, for example {path / 'drop.mp4'}."
            if kind == "folder"
            else f"{path}: is a pipe or a device, not a file. Save the clip as a file first.",
        )
