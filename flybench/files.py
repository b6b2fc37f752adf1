"""Writing files whole or not at all."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from flybench.errors import FlybenchError

SQLITE_MAGIC = b"SQLite format 3\x00"
"""How every SQLite file begins (SQLite file format, 1.3)."""
_CLIP_BOXES = frozenset({b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"})
"""What stands at byte 4 of a phone's clip (ISO/IEC 14496-12, 4.2; QuickTime File Format, atoms)."""
_CLIP_STARTS = (
    b"\x1aE\xdf\xa3",
    b"\x00\x00\x01\xba",
    b"\x00\x00\x01\xb3",
    b"FLV\x01",
    b"0&\xb2u\x8ef\xcf\x11",
)
"""How other clips begin: Matroska and WebM (RFC 8794, 11.2.1), MPEG programme and video streams (ISO/IEC 13818-1, -2),
Flash video and ASF (from memory)."""
_PACKET = 188
"""Bytes in a packet of an MPEG transport stream, each of which begins with "G" (ISO/IEC 13818-1, 2.4.3)."""


@contextmanager
def whole_file(path: Path, *, drawn_clip: bool = False) -> Iterator[Path]:
    """Give a temporary name beside ``path``; put it in place in one step if all went well.

    Whatever happens, an interruption included, neither half a file nor the temporary one is left. A clip that
    is there is replaced only with ``drawn_clip``, where the caller knows that flybench drew it.
    Raises FlybenchError where the folder cannot be written to or the disk is full.
    """
    _check_ordinary(path, drawn_clip)
    part = path.with_name(f".{path.stem}.{os.getpid()}.part{path.suffix}")
    try:
        yield part
        part.replace(path)
    except FlybenchError:
        raise
    except Exception as error:
        reason = _reason(error)
        if reason is None:
            raise
        raise FlybenchError(
            f"{path}: cannot write there ({reason}). Name a file in a folder you may write to."
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _reason(error: BaseException | None) -> str | None:
    """Return what the system refused; drawing libraries hide that behind errors met while closing the file."""
    while error is not None:
        if isinstance(error, OSError):
            return error.strerror or str(error)
        error = error.__cause__ or error.__context__
    return None


def check_writable(path: Path, *, drawn_clip: bool = False) -> None:
    """Refuse, before any work is done, a file that cannot be written in the end, and any clip but a ``drawn_clip``."""
    _check_ordinary(path, drawn_clip)
    if path.is_dir():
        raise FlybenchError(f"{path}: is a folder. Name a file in it.")
    if not path.parent.is_dir():
        raise FlybenchError(f"{path}: there is no folder {path.parent}. Make it first or name another.")
    if not os.access(path.parent, os.W_OK):
        raise FlybenchError(f"{path}: the folder may not be written to. Name a file in another folder.")


def check_new(path: Path, overwrite: bool, *, drawn_clip: bool = False) -> None:
    """Refuse, before any work is done, a file that cannot be written, or that exists and may not be replaced.

    Raises FlybenchError that names --overwrite. A catalog is never replaced, whatever ``overwrite`` says, and a
    clip only with ``drawn_clip``, where the caller knows that flybench drew it.
    """
    check_writable(path, drawn_clip=drawn_clip)
    if path.exists() and not overwrite:
        raise FlybenchError(f"{path}: exists already. Name another file, or add --overwrite to replace it.")


def _check_ordinary(path: Path, drawn_clip: bool) -> None:
    """Refuse to put a file in the place of a device such as /dev/null, of a catalog or of a clip."""
    try:
        special = path.exists() and not path.is_file() and not path.is_dir()
    except OSError as error:
        raise FlybenchError(f"{path}: cannot write there ({error.strerror}). Name another file.") from error
    if special:
        raise FlybenchError(f"{path}: is a pipe or a device. Name an ordinary file.")
    if not path.name:
        raise FlybenchError(f'"{path}": names no file. Name one to write.')
    begun = _beginning(path)
    if begun.startswith(SQLITE_MAGIC):
        raise FlybenchError(
            f"{path}: is a catalog or another database, and is not written over. Name another file."
        )
    if not drawn_clip and _is_clip(begun):
        raise FlybenchError(
            f"{path}: is a clip that flybench did not draw, and is never written over. Name another file."
        )


def _is_clip(begun: bytes) -> bool:
    """Tell from the first bytes of a file whether it is a clip, whatever its name."""
    if begun.startswith(_CLIP_STARTS) or begun[4:8] in _CLIP_BOXES:
        return True
    if begun[:4] == b"RIFF" and begun[8:12] == b"AVI ":
        return True
    return begun[:1] == b"G" and begun[_PACKET : _PACKET + 1] == b"G"


def _beginning(path: Path) -> bytes:
    """Return the first bytes of an ordinary file, enough to know a catalog or a clip; none where it cannot be read."""
    try:
        return first_bytes(path, _PACKET + 1)
    except OSError:
        return b""


def sheet_beside(clip: Path) -> Path:
    """Return where the sheet of a clip is looked for."""
    return beside(clip, ".toml")


def beside(clip: Path, ending: str) -> Path:
    """Return the clip's name with another ending; folders such as "/" and "." have none to change."""
    return clip.with_suffix(ending) if clip.name else clip / f"clip{ending}"


class NotOrdinaryError(OSError):
    """What was named is a folder, a pipe or a device: nothing that ends."""

    def __init__(self) -> None:
        """Say so where the system's own reasons stand."""
        super().__init__(0, "no ordinary file")


def first_bytes(path: Path, most: int) -> bytes:
    """Return the first bytes of an ordinary file, at the most so many; a pipe without a writer is not waited for.

    Raises OSError as opening does, NotOrdinaryError for what is no ordinary file.
    """
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(number, "rb") as file:
        if not stat.S_ISREG(os.fstat(number).st_mode):
            raise NotOrdinaryError
        return file.read(most)


def content_of(
    path: Path, most: int, named: str, another: str = "Name a file", smaller: str = "Make it smaller"
) -> bytes:
    """Return the bytes of an ordinary file of at the most so many.

    Raises FlybenchError for what is missing, no such file, cannot be read or is too large; it begins with ``named``, the file
    in the user's words, and says to name ``another``, or to make it ``smaller``.
    """
    try:
        content = first_bytes(path, most + 1)
    except (NotOrdinaryError, IsADirectoryError) as error:
        raise FlybenchError(f"{named} is not an ordinary file. {another}.") from error
    except FileNotFoundError as error:
        raise FlybenchError(f"{named} there is no such file. Check the name.") from error
    except OSError as error:
        raise FlybenchError(f"{named} cannot be read ({error.strerror}). Check the file.") from error
    if len(content) > most:
        raise FlybenchError(f"{named} is larger than {most / 1e6:g} MB. {smaller}.")
    return content
