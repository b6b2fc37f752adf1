"""Footage: frames of a clip, streamed, each with its own presentation time. Nothing else opens a clip.

The luma plane is handed on as it was decoded (8 to 16 bits, stored orientation): no colour conversion,
no scaling, no copy. Of the file's tags only the capture rate (``survey``) and the day of filming (``filmed``)
are read; place tags are never read.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock, clock_of
from flybench.bench.clip.container import (
    DecodingTally,
    check_size,
    decoded,
    key_picture,
    opened,
    stream_of,
)
from flybench.bench.clip.filmed import filmed_on
from flybench.bench.clip.header import stated_size
from flybench.bench.clip.moving_stream import moving_stream
from flybench.bench.clip.orientation import Orientation, orientation_of
from flybench.bench.clip.survey import MADE_UP_RATE, Survey, capture_rate, survey_of
from flybench.errors import FlybenchError

_SPARE_THREADS = 2
"""Decoding threads beyond the processors [-]: they keep all busy while some wait for one another (judgement)."""


@dataclass(frozen=True)
class Frame:
    """One decoded frame: ``luma`` is the decoder's own memory (read only), kept as long as the frame is."""

    index: int
    clip_time: float
    """Presentation time in the file [s], first frame 0, slow motion not yet undone."""
    luma: NDArray[Any]
    """Grey levels [0 to 255 times 2**shift], shape (rows, columns) as stored, uint8 or uint16."""
    shift: int
    """Bits above eight: luma / 2**shift is on the 0 to 255 scale."""


@dataclass
class Clip:
    """An open clip; use as a context manager."""

    path: Path
    orientation: Orientation
    capture_rate_tag: float | None
    """What the phone says that it captured [frames/s]; None where it does not."""
    survey: Survey
    stream: int = 0
    """Number of the stream of pictures in the file [-]."""
    flags: tuple[str, ...] = ()
    """What is doubtful about the file itself."""
    tally: DecodingTally = field(default_factory=DecodingTally)
    filmed: date | None = None
    """The day of filming, where the file says one that can be."""

    @property
    def name(self) -> str:
        """Return the file's name without its folder; bytes that are no UTF-8 are replaced."""
        return os.fsencode(self.path.name).decode("utf-8", "replace")

    def clock(self, typed_rate: float | None) -> Clock:
        """Return the time base by the rate that was typed [Hz], if any, the tag, and what speaks against the file's times.

        Raises BadValueError for a rate that cannot be, or where one is needed (``clock_of``).
        """
        return clock_of(self.survey.times, self.capture_rate_tag, typed_rate, self.survey.doubt)

    def sha256(self) -> str:
        """Return the SHA-256 of the file as hexadecimal text."""
        with self.path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()

    def frames(self) -> Iterator[Frame]:
        """Yield every frame that decodes, in time order; ``tally`` counts what did not."""
        self.tally = DecodingTally(broken=int(self.survey.contradicted))
        with opened(self.path) as container:
            stream = stream_of(container, self.stream)
            stream.thread_type = "AUTO"
            stream.codec_context.thread_count = (os.cpu_count() or 1) + _SPARE_THREADS
            last = -np.inf
            for number, picture in enumerate(decoded(container, stream, self.tally)):
                if self.survey.doubt.made_up:
                    seconds = number / MADE_UP_RATE
                else:
                    seconds = float(picture.pts * stream.time_base) - float(self.survey.times[0])
                if seconds <= last:
                    self.tally.unordered += 1
                    continue
                last = seconds
                luma, shift = _luma_of(picture)
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
        return [_copied(frame) for frame in self.frames() if frame.index in wanted]

    def _key_samples(self, times: NDArray[np.float64]) -> list[Frame]:
        kept = []
        with opened(self.path) as container:
            stream = stream_of(container, self.stream)
            stream.codec_context.skip_frame = "NONKEY"
            for number, seconds in enumerate(times):
                container.seek(int(seconds / stream.time_base), stream=stream, backward=True)
                picture = key_picture(container, stream)
                if picture is not None:
                    shown = float(picture.pts * stream.time_base) - float(self.survey.times[0])
                    kept.append(_copied(Frame(number, shown, *_luma_of(picture))))
        return kept


def open_clip(path: Path) -> Clip:
    """Open a clip, read its first frame and its packets' times [s].

    Raises FlybenchError where there is no picture to read: no file, a folder, not a clip, no video
    stream, a picture larger than MAX_PIXELS, or no frame that decodes.
    """
    check_there(path)
    with opened(path) as container:
        number, several = moving_stream(path, container)
        stream = stream_of(container, number)
        check_size(path, stream.codec_context.width, stream.codec_context.height)
        stream.codec_context.skip_frame = "DEFAULT"
        first = next(decoded(container, stream, DecodingTally()), None)
        survey = survey_of(path, number)
        if first is None or not len(survey.times):
            check_size(path, *stated_size(path))
            raise FlybenchError(unreadable(path))
        check_size(path, first.width, first.height)
        tags = {**container.metadata, **stream.metadata}
        filmed = filmed_on(tags, datetime.now().astimezone())
    flags = ("several-videos",) if several else ()
    return Clip(path, orientation_of(first), capture_rate(tags), survey, number, flags, filmed=filmed)


def unreadable(path: Path) -> str:
    """Return what to say of a clip of which nothing decodes."""
    return f"{path}: none of its frames can be read. The file is damaged: copy it from the phone again, unedited."


def check_there(path: Path) -> None:
    """Refuse what is not there, a folder, and what cannot be read again and again (a pipe, a device).

    Raises FlybenchError.
    """
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
    if path.suffix.lower() == ".toml":
        raise FlybenchError(
            f"{path}: is a sheet and no clip. Give the clip, and the sheet as --sheet {path}."
        )


def _spread(available: int, count: int) -> NDArray[np.int64]:
    return np.unique(np.linspace(0, available - 1, min(count, available)).round().astype(np.int64))


def _copied(frame: Frame) -> Frame:
    return Frame(frame.index, frame.clip_time, frame.luma.copy(), frame.shift)


def _luma_of(picture: Any) -> tuple[NDArray[Any], int]:
    """Return the luma plane as a view of the decoder's memory, and its bits above eight."""
    form = picture.format
    bits = form.components[0].bits
    plain = (
        not form.is_rgb
        and form.name.startswith(("yuv", "nv", "gray"))
        and (bits == 8 or form.name.endswith("le"))
    )
    if not plain or form.name.startswith(("yuyv", "yvyu")):
        picture, bits = picture.reformat(format="gray"), 8
    plane = picture.planes[0]
    kind: Any = np.uint8 if bits == 8 else np.uint16
    line = plane.line_size // np.dtype(kind).itemsize
    luma = np.frombuffer(plane, kind).reshape(-1, line)[: picture.height, : picture.width]
    return luma, bits - 8
