"""Footage: frames of a clip, streamed, each with its own presentation time. Nothing else opens a clip.

The luma plane is handed on as it was decoded (8 to 16 bits, stored orientation): no colour conversion,
no scaling, no copy. Only the rate tag is read from the file; place tags are never read.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.header import stated_length
from flybench.bench.clip.luma import luma_of
from flybench.bench.clip.orientation import Orientation, orientation_of
from flybench.errors import FlybenchError

MAX_PIXELS = 36_000_000
"""Largest picture read (8K is 33 megapixels); a header that claims more is not believed."""
RATE_TAG = "com.android.capture.fps"
_MAX_BROKEN_PACKETS = 2000
_SPARE_THREADS = 2
_HEADER_SLACK = 0.003
_ROUNDING = 0.02


@dataclass(frozen=True)
class Frame:
    """One decoded frame: ``luma`` is the decoder's own memory (read only), kept as long as the frame is."""

    index: int
    clip_time: float
    """Presentation time in the file [s], first frame 0, slow motion not yet undone."""
    luma: NDArray[Any]
    """Shape (rows, columns) as stored, uint8 or uint16."""
    shift: int
    """Bits above eight: luma / 2**shift is on the 0 to 255 scale."""


@dataclass(frozen=True)
class Survey:
    """What the packets say before anything is decoded."""

    times: NDArray[np.float64]
    """Presentation times of the packets to be shown, ascending [s]."""
    key_times: NDArray[np.float64]
    promised: int
    """Frames that the file says it holds."""
    contradicted: bool = False
    """True where the file's header gives another length than the frames' times: one of them is damaged."""


@dataclass
class Tally:
    """What decoding met: filled while frames are streamed."""

    decoded: int = 0
    broken: int = 0
    """What does not decode or does not fit; a time table that the file's own header contradicts is one."""
    unordered: int = 0


@dataclass
class Clip:
    """An open clip; use as a context manager."""

    path: Path
    orientation: Orientation
    capture_rate_tag: float | None
    survey: Survey
    tally: Tally = field(default_factory=Tally)

    @property
    def name(self) -> str:
        """Return the file's name without its folder; bytes that are no UTF-8 are replaced."""
        return os.fsencode(self.path.name).decode("utf-8", "replace")

    def sha256(self) -> str:
        """Return the SHA-256 of the file as hexadecimal text."""
        with self.path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()

    def frames(self) -> Iterator[Frame]:
        """Yield every frame that decodes, in time order; ``tally`` counts what did not."""
        self.tally = Tally(broken=int(self.survey.contradicted))
        with _container(self.path) as container:
            stream = container.streams.video[0]
            stream.thread_type = "AUTO"
            stream.codec_context.thread_count = (os.cpu_count() or 1) + _SPARE_THREADS
            last = -np.inf
            for picture in _decoded(container, stream, self.tally):
                seconds = float(picture.pts * stream.time_base) - float(self.survey.times[0])
                if seconds <= last:
                    self.tally.unordered += 1
                    continue
                last = seconds
                luma, shift = luma_of(picture)
                if luma.shape != (self.orientation.rows, self.orientation.columns):
                    self.tally.broken += 1
                    continue
                yield Frame(self.tally.decoded, seconds, luma, shift)
                self.tally.decoded += 1

    def samples(self, count: int) -> list[Frame]:
        """Return about ``count`` frames (copies) spread over the clip, the first one included.

        Where the clip has enough key frames only those are decoded; else the whole clip is.
        """
        keys = self.survey.key_times
        if len(keys) >= count // 2 and len(self.survey.times) > 4 * count:
            return self._key_samples(keys[_spread(len(keys), count)])
        wanted = set(_spread(len(self.survey.times), count).tolist())
        return [_kept(frame) for frame in self.frames() if frame.index in wanted]

    def _key_samples(self, times: NDArray[np.float64]) -> list[Frame]:
        kept = []
        with _container(self.path) as container:
            stream = container.streams.video[0]
            stream.codec_context.skip_frame = "NONKEY"
            for number, seconds in enumerate(times):
                container.seek(int(seconds / stream.time_base), stream=stream, backward=True)
                picture = next(_decoded(container, stream, Tally()), None)
                if picture is not None:
                    shown = float(picture.pts * stream.time_base) - float(self.survey.times[0])
                    kept.append(_kept(Frame(number, shown, *luma_of(picture))))
        return kept


def open_clip(path: Path) -> Clip:
    """Open a clip, read its first frame and its packets' times.

    Raises FlybenchError where there is no picture to read: no file, a folder, not a clip, no video
    stream, a picture larger than MAX_PIXELS, or no frame that decodes.
    """
    check_there(path)
    with _container(path) as container:
        if not container.streams.video:
            raise FlybenchError(f"{path}: holds sound but no picture. Give a video clip.")
        stream = container.streams.video[0]
        if stream.codec_context is None:
            raise FlybenchError(
                f"{path}: its pictures are in no known form. Copy it from the phone again, unedited."
            )
        _check_size(path, stream.codec_context.width, stream.codec_context.height)
        stream.codec_context.skip_frame = "DEFAULT"
        first = next(_decoded(container, stream, Tally()), None)
        survey = _survey(path)
        if first is None or not len(survey.times):
            raise FlybenchError(
                f"{path}: no frame decodes. The file is damaged; copy it from the phone again."
            )
        _check_size(path, first.width, first.height)
        tag = _rate_tag({**container.metadata, **stream.metadata})
    return Clip(path, orientation_of(first), tag, survey)


def check_there(path: Path) -> None:
    """Refuse what is not there, a folder, and what cannot be read again and again (a pipe, a device)."""
    try:
        folder, there, ordinary = path.is_dir(), path.exists(), path.is_file()
    except OSError as error:
        raise FlybenchError(f"{path}: cannot be opened ({error.strerror}). Check the name.") from error
    if folder:
        raise FlybenchError(f"{path}: is a folder. Give the clip itself, for example {path / 'drop.mp4'}.")
    if not there:
        raise FlybenchError(f"{path}: no such file. Check the name and the folder.")
    if not ordinary:
        raise FlybenchError(f"{path}: is a pipe or a device, not a file. Save the clip as a file first.")


def _check_size(path: Path, width: int, height: int) -> None:
    if width * height > MAX_PIXELS:
        raise FlybenchError(
            f"{path}: the picture is {width} x {height} px; the limit is {MAX_PIXELS // 10**6} megapixels (8K). "
            "Film at 1080p: it is ample."
        )


def _container(path: Path) -> Any:
    """Open the file with PyAV, and say plainly why it cannot be."""
    options: dict[str, Any] = {"metadata_errors": "replace"} if _takes_metadata_errors() else {}
    try:
        return av.open(str(path), **options)
    except av.error.FileNotFoundError as error:
        raise FlybenchError(f"{path}: no such file. Check the name and the folder.") from error
    except (av.error.FFmpegError, OSError) as error:
        size = path.stat().st_size if path.exists() else 0
        what = "is empty (0 bytes)" if size == 0 else f"is not a clip that can be read ({size} bytes)"
        raise FlybenchError(f"{path}: {what}. Copy it from the phone again, unedited.") from error


def _takes_metadata_errors() -> bool:
    """Tell whether this PyAV (before 19) needs to be told to live with odd bytes in tags."""
    return int(av.__version__.split(".", 1)[0]) < 19


def _decoded(container: Any, stream: Any, tally: Tally) -> Iterator[Any]:
    """Yield decoded pictures, packet by packet, passing over what does not decode."""
    for packet in _packets(container, stream, tally):
        try:
            pictures = packet.decode()
        except av.error.EOFError:
            return
        except (av.error.FFmpegError, ValueError):
            tally.broken += 1
            if tally.broken > _MAX_BROKEN_PACKETS:
                return
            continue
        yield from (picture for picture in pictures if picture.pts is not None)


def _packets(container: Any, stream: Any, tally: Tally) -> Iterator[Any]:
    """Yield the stream's packets until the end or until the file itself breaks off."""
    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets, None)
        except (av.error.FFmpegError, OSError):
            tally.broken += 1
            return
        if packet is None:
            return
        yield packet


def _survey(path: Path) -> Survey:
    """Read the times of all packets without decoding them."""
    with _container(path) as container:
        stream = container.streams.video[0]
        shown = [
            (packet.pts, packet.is_keyframe)
            for packet in _packets(container, stream, Tally())
            if packet.pts is not None and not packet.is_discard
        ]
        base = float(stream.time_base)
        promised = max(stream.frames, len(shown))
        times = np.unique(np.array([stamp for stamp, _ in shown], dtype=float)) * base
        keys = np.unique(np.array([stamp for stamp, key in shown if key], dtype=float)) * base
        return Survey(times, keys, promised, _contradicted(path, container, stream, times))


def _contradicted(path: Path, container: Any, stream: Any, times: NDArray[np.float64]) -> bool:
    """Tell whether the file's header says that it lasts shorter or longer than its tracks do."""
    told = stated_length(path) if "mp4" in container.format.name and stream.frames else None
    if told is None or len(times) < 2:
        return False
    gap = float(np.median(np.diff(times)))
    end = float(times[-1]) + gap
    others = [_end(other) for other in container.streams if other.index != stream.index]
    slack = _HEADER_SLACK * end + max(gap, _ROUNDING)
    shortest, longest = min(end, end - float(times[0])), max([end, *others])
    return not shortest - slack <= told <= longest + slack


def _end(stream: Any) -> float:
    """Return when a track of sound or data ends [s]."""
    if stream.duration is None or stream.time_base is None:
        return 0.0
    return float(((stream.start_time or 0) + stream.duration) * stream.time_base)


def _rate_tag(tags: dict[str, str]) -> float | None:
    """Return the capture rate that the phone wrote into the file [Hz], if it makes sense."""
    try:
        rate = float(tags.get(RATE_TAG, "nan"))
    except ValueError:
        return None
    return rate if 1.0 <= rate <= 10_000.0 else None


def _spread(available: int, count: int) -> NDArray[np.int64]:
    return np.unique(np.linspace(0, available - 1, min(count, available)).round().astype(np.int64))


def _kept(frame: Frame) -> Frame:
    return Frame(frame.index, frame.clip_time, frame.luma.copy(), frame.shift)
