"""The bytes of a saved run: written, and read back with every doubt about them checked."""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import TimesDoubt
from flybench.bench.clip.container import DecodingTally
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.observations import GRAIN, Observations
from flybench.bench.track.spotting import Spot
from flybench.bench.view.geometry import ScalePoints
from flybench.errors import FlybenchError

Floats = NDArray[np.float64]
Longs = NDArray[np.int64]
Columns = Mapping[str, Floats]

MARK = b"FBRUN"
VERSION = 1
"""Version of the form written [-]: raised when the columns or the header change."""
LARGEST = 400_000_000
"""Most bytes that a saved run unpacks to; a stream that says more is not believed."""
_HEAD = struct.Struct("<I")
_NAMES = tuple(field.name for field in fields(Spot))
_WHOLE = ("frame",)
_TRUTHS = ("at_edge",)


@dataclass(frozen=True)
class SavedRun:
    """What a clip showed, and the scale it was measured with: the card and its bar [m], or points."""

    observed: Observations
    card: bool
    bar: float | None


def packed(saved: SavedRun) -> bytes:
    """Return a saved run as bytes: MARK, version, and a zlib stream (which carries its own check sum)."""
    columns = _columns(saved.observed)
    header = _header(saved) | {"columns": [[name, len(column)] for name, column in columns.items()]}
    head = json.dumps(header, allow_nan=False).encode()
    body = b"".join(_squeezable(_bits(name, column)) for name, column in columns.items())
    return MARK + bytes([VERSION]) + zlib.compress(_HEAD.pack(len(head)) + head + body, 9)


def unpacked(data: bytes) -> SavedRun:
    """Return the saved run that the bytes hold.

    Raises FlybenchError for bytes that are damaged, cut off, or of a newer flybench.
    """
    header, columns = _opened(data)
    try:
        return _saved_run(header, columns)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise _damaged(str(error)) from error


def _opened(data: bytes) -> tuple[dict[str, Any], Columns]:
    """Return header and columns."""
    if data[: len(MARK)] != MARK or len(data) <= len(MARK) or not data[len(MARK)]:
        raise _damaged("they do not begin as they should")
    if data[len(MARK)] > VERSION:
        raise FlybenchError(
            f"the saved track is of version {data[len(MARK)]}, and this flybench reads up to {VERSION}. Update flybench."
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
        f"the saved track is damaged ({why}). Restore the catalog from a backup, or measure the clip again."
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


def _columns(observed: Observations) -> dict[str, Floats]:
    """Return every column of numbers by name."""
    spots = {name: np.array([getattr(spot, name) for spot in observed.spots], dtype=float) for name in _NAMES}
    scale_points = {
        "pixels": observed.scale_points.pixels.ravel(),
        "places": observed.scale_points.places.ravel(),
    }
    return spots | scale_points | {"times": observed.times}


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


def _header(saved: SavedRun) -> dict[str, Any]:
    observed = saved.observed
    return {
        "name": observed.name,
        "sha256": observed.sha256,
        "orientation": asdict(observed.orientation),
        "capture_rate_tag_hz": observed.capture_rate_tag,
        "times_doubt": asdict(observed.times_doubt),
        "promised": observed.promised,
        "tally": asdict(observed.tally),
        "size": list(observed.scale_points.size),
        "flags": observed.flags,
        "breaths": observed.breaths,
        "card": saved.card,
        "bar_m": saved.bar,
    }


def _saved_run(header: Mapping[str, Any], columns: Columns) -> SavedRun:
    width, height = header["size"]
    scale_points = ScalePoints(
        columns["pixels"].reshape(-1, 2), columns["places"].reshape(-1, 2), (int(width), int(height))
    )
    if len(scale_points.pixels) != len(scale_points.places) or not len(columns["times"]):
        raise ValueError("the scale or the times are not whole")
    observed = Observations(
        str(header["name"]),
        str(header["sha256"]),
        Orientation(**header["orientation"]),
        header["capture_rate_tag_hz"],
        columns["times"],
        int(header["promised"]),
        DecodingTally(**header["tally"]),
        scale_points,
        [str(flag) for flag in header["flags"]],
        _spots(columns),
        TimesDoubt(**header.get("times_doubt", {})),
        tuple((int(first), int(last), float(size)) for first, last, size in header.get("breaths", [])),
    )
    return SavedRun(observed, bool(header["card"]), header["bar_m"])


def _spots(columns: Columns) -> list[Spot]:
    values: list[list[Any]] = []
    for name in _NAMES:
        kind = int if name in _WHOLE else bool if name in _TRUTHS else float
        values.append([kind(value) for value in columns[name].tolist()])
    return [Spot(*row) for row in zip(*values, strict=True)]
