"""What is saved stays saved: killed writers, many writers at once, full disks, missing rights, damaged files."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from shelves import add_batch, whole_batches

from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError

WRITER = Path(__file__).parents[1] / "helpers" / "catalog_writer.py"
WRITERS = 8
KILLS, RESTORES = 40, 30
"""Kills of each of two writers, and of a restore: what one kill in 25 spoils is missed once in 26, and 3 in 10 times."""
FULL = "the disk is full; nothing was changed. Free some space and try again."


def _writer(*arguments: str | Path | int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(WRITER), *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )


def _ended(writers: list[subprocess.Popen[str]]) -> list[str]:
    """Return all words that writers said; each must have ended well."""
    said: list[str] = []
    for writer in writers:
        out, err = writer.communicate(timeout=300)
        assert (writer.returncode, err) == (0, ""), out + err
        said += out.split()
    return said


def _sound(path: Path) -> set[str]:
    """Return the codes of all batches in a catalog, each whole, the rest sound."""
    catalog = open_catalog(str(path))
    assert check(catalog) == []
    with catalog.reading() as session:
        return whole_batches(session)


@pytest.mark.slow
def test_killed_writers_lose_nothing_that_was_saved_and_leave_nothing_half(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    said = _ended([_writer("killed", path, f"w{one}-", KILLS, one) for one in range(2)])
    assert len(said) > 2 * KILLS * 1.5  # the kills fell among the saving, not before it
    assert len(set(said)) == len(said)
    assert set(said) <= _sound(path)
    assert {one.name for one in tmp_path.iterdir()} <= {path.name, f"{path.name}-wal", f"{path.name}-shm"}


@pytest.mark.slow
def test_a_killed_restore_leaves_the_one_or_the_other(tmp_path: Path) -> None:
    backups = [tmp_path / "three.sqlite", tmp_path / "forty.sqlite"]
    for backup, count in zip(backups, (3, 40), strict=True):
        with open_catalog(str(backup)).writing() as session:
            for number in range(count):
                add_batch(session, f"b-{number}")
    path = tmp_path / "catalog.sqlite"
    shutil.copyfile(backups[0], path)
    said = _ended([_writer("restored", path, RESTORES, 1, *backups)])
    assert len(said) == RESTORES
    assert set(said) == {"3-0", "40-0"}  # batches and findings


@pytest.mark.slow
def test_eight_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "new" / "catalog.sqlite"
    said = _ended([_writer("together", WRITERS, "batches", path, "w{}-", 25)])
    assert len(said) == WRITERS * 25
    assert _sound(path) == set(said)


@pytest.mark.slow
def test_eight_processes_make_the_same_new_catalog_at_once(tmp_path: Path) -> None:
    paths = [tmp_path / f"{number}" / "catalog.sqlite" for number in range(10)]
    said = _ended([_writer("together", WRITERS, "open", *paths)])
    assert said == ["ok"] * len(paths) * WRITERS
    for path in paths:
        assert _sound(path) == set()
        assert [one.name for one in path.parent.iterdir()] == [path.name]


def test_a_reader_sees_one_moment_while_others_write(tmp_path: Path) -> None:
    catalog = open_catalog(str(tmp_path / "catalog.sqlite"))
    with catalog.reading() as session:
        assert whole_batches(session) == set()
        with catalog.writing() as other:
            add_batch(other, "meanwhile")
        assert whole_batches(session) == set()
    assert _sound(tmp_path / "catalog.sqlite") == {"meanwhile"}


@pytest.mark.slow
def test_a_writer_waits_for_another(tmp_path: Path) -> None:
    catalog = open_catalog(str(tmp_path / "catalog.sqlite"))

    def second() -> None:
        with catalog.writing() as session:
            add_batch(session, f"after-{len(whole_batches(session))}")

    with catalog.writing() as session:
        thread = threading.Thread(target=second)
        thread.start()
        thread.join(0.2)
        assert thread.is_alive()
        add_batch(session, "before")
    thread.join(30)
    assert _sound(tmp_path / "catalog.sqlite") == {"before", "after-1"}


def test_nothing_is_kept_of_what_was_raised_in(tmp_path: Path) -> None:
    catalog = open_catalog(str(tmp_path / "catalog.sqlite"))
    with pytest.raises(KeyboardInterrupt), catalog.writing() as session:
        add_batch(session, "half")
        raise KeyboardInterrupt
    assert _sound(tmp_path / "catalog.sqlite") == set()


def _filled_up(path: Path, limit: int, message: str) -> None:
    """Write until no more fits; what was saved before is there and sound, and there is room for it to be read."""
    writer = _writer("fill", path, limit)
    out, err = writer.communicate(timeout=120)
    *saved, last = out.splitlines()
    assert (last, err, writer.returncode) == (f"Error: {path}: {message}", "", 1)
    assert saved
    assert _sound(path) == set(saved)


@pytest.mark.slow
def test_a_file_that_may_not_grow(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    disk = "the disk reports an error; nothing was changed. Check the disk and its room, and try again."
    _filled_up(path, 1_000_000, disk)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = shutil.which("mount")
    if os.geteuid() != 0 or mount is None:
        pytest.skip("only an administrator can mount a small disk; the limit on file size is tested instead")
    done = subprocess.run([mount, "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(folder)], check=False)
    if done.returncode != 0:
        pytest.skip("this machine does not let us mount a small disk")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.slow
def test_a_full_disk(small_disk: Path) -> None:
    path = small_disk / "catalog.sqlite"
    _filled_up(path, 0, FULL)
    with pytest.raises(FlybenchError) as refused:
        open_catalog(str(small_disk / "another.sqlite"))
    assert str(refused.value) == f"{small_disk / 'another.sqlite'}: {FULL}"
    assert not [one for one in small_disk.iterdir() if not one.name.startswith("catalog.sqlite")]


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """Return a folder that any user can reach, which pytest's own are not."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "shelf"
        folder.mkdir()
        Path(made).chmod(0o755)
        yield folder


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "mode", "message"),
    [
        (
            "shelf/catalog.sqlite",
            "444",
            "cannot be written to; nothing was changed. Give write permission to the file and its folder, "
            "or name another with --catalog.",
        ),
        (
            "shelf",
            "555",
            "cannot be written to; nothing was changed. Give write permission to the file and its folder, "
            "or name another with --catalog.",
        ),
        (
            "shelf/catalog.sqlite",
            "000",
            "cannot be opened. Check the name and the permissions of the file and its folder.",
        ),
    ],
)
def test_missing_rights(open_folder: Path, name: str, mode: str, message: str) -> None:
    path = open_folder / "catalog.sqlite"
    with open_catalog(str(path)).writing() as session:
        add_batch(session, "old")
    path.chmod(0o666)
    if name.endswith("sqlite"):
        open_folder.chmod(0o777)
    writer = _writer("refused", path, open_folder.parent / name, mode)
    out, err = writer.communicate(timeout=60)
    open_folder.chmod(0o755)
    path.chmod(0o644)
    assert (out, err, writer.returncode) == (f"Error: {path}: {message}\n", "", 1)
    assert _sound(path) == {"old"}
