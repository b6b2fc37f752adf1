"""The bytes of a kept run: written, and read back with every doubt about them checked."""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Tally
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.sightings import GRAIN, Seen
from flybench.bench.track.spotting import Spot
from flybench.bench.view.geometry import Known
from flybench.errors import FlybenchError

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]
Columns = Mapping[str, Floats]

MARK = b"FBRUN"
VERSION = 1
LARGEST = 400_000_000
"""Most bytes that a kept run unpacks to; a stream that says more is not believed."""
_HEAD = struct.Struct("<I")
_NAMES = tuple(field.name for field in fields(Spot))
_WHOLE = ("frame",)
_TRUTHS = ("at_edge",)


@dataclass(frozen=True)
class Kept:
    """What a clip showed, and the scale it was measured with: the card and its bar [m], or points."""

    seen: Seen
    card: bool
    bar: float | None


def packed(kept: Kept) -> bytes:
    """Return a kept run as bytes: MARK, version, and a zlib stream (which carries its own check sum)."""
    columns = _columns(kept.seen)
    header = _header(kept) | {"columns": [[name, len(column)] for name, column in columns.items()]}
    head = json.dumps(header, allow_nan=False).encode()
    body = b"".join(_squeezable(_bits(name, column)) for name, column in columns.items())
    return MARK + bytes([VERSION]) + zlib.compress(_HEAD.pack(len(head)) + head + body, 9)


def unpacked(data: bytes) -> Kept:
    """Return the kept run that the bytes hold.

    Raises FlybenchError for bytes that are damaged, cut off, or of a newer flybench.
    """
    header, columns = _opened(data)
    try:
        return _kept(header, columns)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _damaged(str(error)) from error


def _opened(data: bytes) -> tuple[dict[str, Any], Columns]:
    """Return header and columns."""
    if data[: len(MARK)] != MARK or len(data) <= len(MARK) or not data[len(MARK)]:
        raise _damaged("they do not begin as they should")
    if data[len(MARK)] > VERSION:
        raise FlybenchError(
            f"the kept track is of version {data[len(MARK)]}, this flybench knows up to {VERSION}. Update flybench."
        )
    try:
        plain = _inflated(data[len(MARK) + 1 :])
        (length,) = _HEAD.unpack_from(plain)
        header = json.loads(plain[_HEAD.size : _HEAD.size + length])
        body = plain[_HEAD.size + length :]
        return header, _read_columns(header["columns"], body)
    except (zlib.error, struct.error, ValueError, KeyError, TypeError, AttributeError) as error:
        raise _damaged(str(error)) from error


def _damaged(why: str) -> FlybenchError:
    return FlybenchError(
        f"the kept track is damaged ({why}). Restore the catalog from a backup, or measure the clip again."
    )


def _inflated(data: bytes) -> bytes:
    machine = zlib.decompressobj()
    plain = machine.decompress(data, LARGEST)
    if not machine.eof or machine.unused_data:
        raise ValueError("their length is wrong")
    return plain


def _bits(name: str, column: Floats) -> Longs:
    """Return what is read off pictures as whole steps of its grain, all else by its bits."""
    if name in GRAIN:
        return np.round(column / GRAIN[name]).astype("<i8")
    return np.ascontiguousarray(column, dtype="<f8").view("<i8")


def _numbers(name: str, bits: Longs) -> Floats:
    return np.asarray(bits * GRAIN[name] if name in GRAIN else bits.view("<f8"), dtype=np.float64)


def _squeezable(column: Longs) -> bytes:
    """Return the steps from one number to the next, like bytes side by side: that packs well."""
    steps = np.diff(column, prepend=np.zeros(1, dtype="<i8"))
    folded = (steps << 1) ^ (steps >> 63)  # small steps down have small bytes too
    return np.ascontiguousarray(folded.view("u1").reshape(-1, 8).T).tobytes()


def _restored(data: bytes) -> Longs:
    raw = np.frombuffer(data, dtype="u1").reshape(8, -1).T
    folded = np.ascontiguousarray(raw).reshape(-1).view("<u8")
    steps = (folded >> np.uint64(1)).astype("<i8") ^ -(folded & np.uint64(1)).astype("<i8")
    return np.cumsum(steps, dtype="<i8")


def _columns(seen: Seen) -> dict[str, Floats]:
    """Return every column of numbers by name."""
    spots = {name: np.array([getattr(spot, name) for spot in seen.spots], dtype=float) for name in _NAMES}
    known = {"pixels": seen.known.pixels.ravel(), "places": seen.known.places.ravel()}
    return spots | known | {"times": seen.times}


def _read_columns(listed: list[list[Any]], body: bytes) -> dict[str, Floats]:
    columns, at = {}, 0
    for name, count in listed:
        if not isinstance(count, int) or count < 0:
            raise ValueError("a column has no length")
        columns[name] = _numbers(name, _restored(body[at : at + 8 * count]))
        if len(columns[name]) != count or not np.all(np.isfinite(columns[name])):
            raise ValueError(f"column {name} is not whole")
        at += 8 * count
    if at != len(body):
        raise ValueError("their length is wrong")
    return columns


def _header(kept: Kept) -> dict[str, Any]:
    seen = kept.seen
    return {
        "name": seen.name,
        "sha256": seen.sha256,
        "orientation": asdict(seen.orientation),
        "capture_rate_tag_hz": seen.capture_rate_tag,
        "promised": seen.promised,
        "tally": asdict(seen.tally),
        "size": list(seen.known.size),
        "flags": seen.flags,
        "card": kept.card,
        "bar_m": kept.bar,
    }


def _kept(header: Mapping[str, Any], columns: Columns) -> Kept:
    width, height = header["size"]
    known = Known(
        columns["pixels"].reshape(-1, 2), columns["places"].reshape(-1, 2), (int(width), int(height))
    )
    if len(known.pixels) != len(known.places) or not len(columns["times"]):
        raise ValueError("the scale or the times are not whole")
    seen = Seen(
        str(header["name"]),
        str(header["sha256"]),
        Orientation(**header["orientation"]),
        header["capture_rate_tag_hz"],
        columns["times"],
        int(header["promised"]),
        Tally(**header["tally"]),
        known,
        [str(flag) for flag in header["flags"]],
        _spots(columns),
    )
    return Kept(seen, bool(header["card"]), header["bar_m"])


def _spots(columns: Columns) -> list[Spot]:
    values: list[list[Any]] = []
    for name in _NAMES:
        kind = int if name in _WHOLE else bool if name in _TRUTHS else float
        values.append([kind(value) for value in columns[name].tolist()])
    return [Spot(*row) for row in zip(*values, strict=True)]
