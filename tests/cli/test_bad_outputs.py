"""Files that may not or cannot be written, usage, and Ctrl-C.

Each is refused in a clear message that says what, which value, which limit and what to do; the exit code is 1, and
nothing is written.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from console import flybench, heed_ctrl_c
from refusals import EXISTS, ITSELF, PLACE, refused

from flybench.errors import FlybenchError
from flybench.files import check_new

Capture = pytest.CaptureFixture[str]
pytestmark = pytest.mark.usefixtures("clips_read_once")


def test_outputs_that_cannot_be_written(clip: Path, capsys: Capture) -> None:
    nowhere = clip.parent / "no" / "page.png"
    said = flybench(capsys, "bench", "measure", clip, "--report", nowhere)
    refused(said, f"{nowhere}: there is no folder {nowhere.parent}. Make it first or name another.")
    under_file = clip / "page.png"
    said = flybench(capsys, "bench", "measure", clip, "--report", under_file)
    refused(said, f"{under_file}: there is no folder {clip}. Make it first or name another.")
    folder = clip.parent / "page.png"
    folder.mkdir()
    said = flybench(capsys, "bench", "measure", clip, "--report", folder)
    refused(said, f"{folder}: is a folder. Name a file in it.")
    long = clip.with_name("x" * 300 + ".png")
    said = flybench(capsys, "bench", "measure", clip, "--report", long)
    refused(said, f"{long}: cannot write there (File name too long). Name another file.")
    long = long.with_suffix(".mp4")
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--overlay", long)
    refused(said, f"{long}: cannot write there (File name too long). Name another file.")
    twice = clip.with_name("twice.png")
    said = flybench(capsys, "bench", "measure", clip, "--report", twice, "--report", twice)
    refused(said, f"{twice}: would be written twice. Give each file a name of its own.")


@pytest.mark.parametrize("verb", [["card"], ["sheet", "drop.mp4"]])
def test_devices_are_never_replaced(verb: list[str], capsys: Capture) -> None:
    """An administrator could put a file in the place of /dev/null."""
    said = flybench(capsys, "bench", *verb, "--output", "/dev/null", "--overwrite")
    refused(said, "/dev/null: is a pipe or a device. Name an ordinary file.")
    assert Path("/dev/null").is_char_device()


def test_the_clip_and_its_sheet_are_never_written_over(clip: Path, capsys: Capture) -> None:
    before = clip.read_bytes(), clip.with_suffix(".toml").read_bytes()
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--overlay", clip, "--overwrite")
    refused(said, f"{clip}: {ITSELF.format('clip')}")
    sheet = clip.with_suffix(".toml").rename(clip.with_name("sheet.png"))
    said = flybench(capsys, "bench", "measure", clip, "--sheet", sheet, "--report", sheet, "--overwrite")
    refused(said, f"{sheet}: {ITSELF.format('sheet')}")
    assert (clip.read_bytes(), sheet.read_bytes()) == before


def test_other_names_of_the_clip_are_known(clip: Path, capsys: Capture) -> None:
    before = clip.read_bytes()
    for name, link in (("hard.mp4", os.link), ("soft.mp4", os.symlink)):
        link(clip, clip.with_name(name))
        overlay = ("--overlay", clip.with_name(name), "--overwrite")
        said = flybench(capsys, "bench", "measure", clip, "--no-report", *overlay)
        refused(said, f"{clip.with_name(name)}: {ITSELF.format('clip')}")
    assert clip.read_bytes() == before


def test_no_other_clip_is_written_over_by_any_command(clip: Path, capsys: Capture) -> None:
    other = clip.with_name("other.mp4")
    shutil.copyfile(clip, other)
    before = other.read_bytes()
    for words in (
        ("bench", "measure", clip, "--no-report", "--overlay", other),
        ("bench", "card", "--format", "pdf", "--output", other),
        ("bench", "sheet", clip, "--output", other),
    ):
        refused(
            flybench(capsys, *words, "--overwrite"),
            f"{other}: is a clip that flybench did not draw, and is never written over. Name another file.",
        )
    assert other.read_bytes() == before


@pytest.mark.slow
def test_a_clip_that_flybench_drew_is_replaced_with_overwrite_only(clip: Path, capsys: Capture) -> None:
    drawn = clip.with_name("drawn.mp4")
    overlay = ("bench", "measure", clip, "--no-report", "--overlay", drawn)
    assert flybench(capsys, *overlay).code == 0
    refused(flybench(capsys, *overlay), f"{drawn}: {EXISTS}")
    assert flybench(capsys, *overlay, "--overwrite").code == 0


@pytest.mark.slow
def test_a_clip_is_measured_again_but_other_pages_need_overwrite(clip: Path, capsys: Capture) -> None:
    """The usual page is flybench's own; what someone put in its place, or the page of another clip, is not."""
    page = clip.with_suffix(".bench.png")
    for _ in range(2):
        said = flybench(capsys, "bench", "measure", clip)
        assert (said.code, said.err) == (0, f"Wrote {page}\n")
    assert flybench(capsys, "bench", "measure", clip, "--report", page).code == 0
    named = clip.with_name("page.pdf")
    assert flybench(capsys, "bench", "measure", clip, "--report", named).code == 0
    refused(flybench(capsys, "bench", "measure", clip, "--report", named), f"{named}: {EXISTS}")
    assert flybench(capsys, "bench", "measure", clip, "--report", named, "--overwrite").code == 0
    other = clip.rename(clip.with_suffix(".mov"))
    refused(flybench(capsys, "bench", "measure", other), f"{page}: {EXISTS}")
    page.write_text("my notes", encoding="utf-8")
    other.rename(clip)
    refused(flybench(capsys, "bench", "measure", clip), f"{page}: {EXISTS}")
    assert page.read_text(encoding="utf-8") == "my notes"


@pytest.mark.parametrize(
    "start",
    [
        b"\x00\x00\x00\x18ftypmp42",
        b"\x00\x00\x00\x14ftypqt  ",
        b"\x00\x00\x00\x08wide\x00\x00\x00\x10mdat",
        b"\x1aE\xdf\xa3\x01",
        b"RIFF\x00\x00\x00\x00AVI LIST",
        b"G" + bytes(187) + b"G",
        b"\x00\x00\x01\xba\x44",
    ],
)
def test_clips_of_every_kind_are_known_by_their_beginning(start: bytes, tmp_path: Path) -> None:
    """Beginnings as in ISO/IEC 14496-12, QuickTime, RFC 8794, RIFF and ISO/IEC 13818-1."""
    path = tmp_path / "sheet.toml"
    path.write_bytes(start)
    with pytest.raises(FlybenchError) as told:
        check_new(path, overwrite=True)
    assert str(told.value) == (
        f"{path}: is a clip that flybench did not draw, and is never written over. Name another file."
    )


@pytest.mark.parametrize(
    "start", [b"", b"G", b"\x89PNG\r\n\x1a\n", b"%PDF-1.4", b"RIFF\x00\x00\x00\x00WAVE", b"[water]\n"]
)
def test_other_files_are_replaced_with_overwrite(start: bytes, tmp_path: Path) -> None:
    path = tmp_path / "page.png"
    path.write_bytes(start)
    check_new(path, overwrite=True)
    with pytest.raises(FlybenchError) as told:
        check_new(path, overwrite=False)
    assert str(told.value) == f"{path}: {EXISTS}"


def test_full_disk_is_said_and_leaves_nothing(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    wanted = tmp_path / "out.toml"
    said = flybench(capsys, "bench", "sheet", tmp_path / "drop.mp4", "--output", wanted)
    refused(said, f"{wanted}: cannot write there (No space left on device). {PLACE}")
    assert not list(tmp_path.iterdir())


def _run_small(limit: int, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Run the command where no file may grow beyond ``limit`` bytes, which ends as a full disk does."""

    def shrink() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    command = [sys.executable, "-m", "flybench", "bench", "measure", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, preexec_fn=shrink)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["o.mp4", "o.png", "o.pdf"])
def test_full_disk_while_drawing(name: str, clip: Path) -> None:
    wanted = clip.with_name(name)
    option = ["--no-report", "--overlay"] if name == "o.mp4" else ["--report"]
    done = _run_small(2000, clip, *option, wanted)
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr == f"Error: {wanted}: cannot write there (File too large). {PLACE}\n"
    assert sorted(path.name for path in clip.parent.iterdir()) == ["drop.mp4", "drop.toml"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_standard_output_on_a_full_disk() -> None:
    command = [sys.executable, "-m", "flybench", "flags"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr == "Error: standard output: No space left on device. Check the disk and try again.\n"


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (["--report", "page.gif"], "--report page.gif: needs a name that ends in .png or .pdf."),
        (["--overlay", "seen.avi"], "--overlay seen.avi: needs a name that ends in .mp4."),
        (["--report", "a.png", "--no-report"], "Give --report or --no-report, not both."),
    ],
)
def test_usage_errors(wrong: list[str], message: str, clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, *wrong)
    assert (said.code, said.out) == (2, "")
    usage, try_help, _, error = said.err.splitlines()
    assert usage == "Usage: flybench bench measure [OPTIONS] CLIP..."
    assert (try_help, error) == (
        "Try 'flybench bench measure --help' for help.",
        f"Error: {message}",
    )


STARTED = "from flybench.cli import main; import sys; print('started', file=sys.stderr, flush=True); main()"
"""The command as a child process, which says when it can be interrupted."""


@pytest.mark.slow
@pytest.mark.parametrize("wait", ["overlay", "0.1 s", "0.5 s"])
def test_interrupted_leaves_nothing_behind(wait: str, clip: Path) -> None:
    overlay, page = clip.with_name("o.mp4"), clip.with_name("o.png")
    options = [
        "--overlay",
        str(overlay),
        *(["--no-report"] if wait == "overlay" else ["--report", str(page)]),
    ]
    command = [sys.executable, "-c", STARTED, "bench", "measure", str(clip), *options]
    running = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=heed_ctrl_c,  # noqa: PLW1509
    )
    assert running.stderr is not None
    assert running.stderr.readline() == "started\n"
    deadline = time.monotonic() + 60
    if wait == "overlay":
        while time.monotonic() < deadline and not list(clip.parent.glob(".o.*.part.mp4")):
            time.sleep(0.01)
    else:
        time.sleep(float(wait.split(maxsplit=1)[0]))
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert (running.returncode, out) == (1, "")
    assert "Traceback" not in err
    assert not list(clip.parent.glob(".*part*"))
    assert not overlay.exists()


def test_ctrl_c_is_heeded_where_a_shell_ignores_it() -> None:
    """A shell runs what stands before "&" with Ctrl-C ignored (POSIX, Shell Command Language, 2.11)."""
    code = "import signal; print(signal.getsignal(signal.SIGINT) is signal.SIG_IGN)"
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        told = [
            subprocess.run(
                [sys.executable, "-c", code], capture_output=True, text=True, check=True, **more
            ).stdout
            for more in ({}, {"preexec_fn": heed_ctrl_c})
        ]
    finally:
        signal.signal(signal.SIGINT, before)
    assert told == ["True\n", "False\n"]
