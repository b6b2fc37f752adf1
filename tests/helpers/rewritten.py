"""Clips written again, as messengers, editors and computers do: turned, tags lost, times changed."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from av.stream import Disposition

TICKS = 90_000


def turned(clip: Path, target: Path, turns: int) -> None:
    """Encode a clip's upright picture again, turned by quarter turns to the left, without turn and tags."""
    with av.open(str(clip)) as old, av.open(str(target), "w") as new:
        source = old.streams.video[0]
        stream: Any = None
        for frame in old.decode(source):
            upright = np.rot90(frame.to_ndarray(format="gray"), round(frame.rotation / 90) + turns)
            if stream is None:
                stream = _stream(new, upright.shape)
            shown = av.VideoFrame.from_ndarray(np.ascontiguousarray(upright), format="gray")
            shown = shown.reformat(format="yuv420p")
            shown.pts = round(float(frame.pts * source.time_base) * TICKS)
            shown.time_base = Fraction(1, TICKS)
            new.mux(stream.encode(shown))
        new.mux(stream.encode(None))


def _stream(container: Any, shape: tuple[int, ...]) -> Any:
    stream = container.add_stream("libx264", rate=60)
    stream.height, stream.width = shape
    stream.pix_fmt = "yuv420p"
    stream.time_base = stream.codec_context.time_base = Fraction(1, TICKS)
    stream.codec_context.options = {"crf": "18", "preset": "ultrafast"}
    return stream


def without_tags(clip: Path, target: Path) -> None:
    """Copy the coded pictures as they are; tags are lost, the turn is kept."""
    with av.open(str(clip)) as old, av.open(str(target), "w") as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)


def with_time_scale(clip: Path, target: Path, box: bytes, factor: float) -> None:
    """Copy a clip with the time scale in a header multiplied: ``mvhd`` of the movie, ``mdhd`` of the pictures.

    ISO/IEC 14496-12, 8.2.2 and 8.4.2: version and flags, two times, then ticks a second, of 32 bits each in version 0.
    """
    data = bytearray(clip.read_bytes())
    place = data.index(box) + 4 + 12
    ticks = int.from_bytes(data[place : place + 4])
    data[place : place + 4] = round(ticks * factor).to_bytes(4)
    target.write_bytes(data)


def raw(clip: Path, target: Path) -> None:
    """Write the coded pictures alone, without any times (ITU-T H.264, annex B)."""
    with av.open(str(clip)) as old, av.open(str(target), "w", format="h264") as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)


def with_edit(clip: Path, target: Path, start: float, length: float, rate: float = 1.0) -> None:
    """Copy a clip of one track with another edit list: from ``start`` [s], ``length`` [s] long, at so many times its speed.

    ISO/IEC 14496-12, 8.6.6: length in ticks of the movie, start in ticks of the track, rate in 16.16 bits; 8.2.2 and 8.3.2
    state the length once more. Start and length are counted on top of the delay that coding brings.
    """
    data = bytearray(clip.read_bytes())
    movie, track = (data.index(box) + 4 for box in (b"mvhd", b"mdhd"))
    per_movie, per_track = (int.from_bytes(data[at + 12 : at + 16]) for at in (movie, track))
    place = data.index(b"elst") + 4 + 8
    delay = int.from_bytes(data[place + 4 : place + 8])
    ticks = round(length * per_movie).to_bytes(4)
    data[place : place + 4] = ticks
    data[place + 4 : place + 8] = (delay + round(start * per_track)).to_bytes(4)
    data[place + 8 : place + 12] = round(rate * 65536).to_bytes(4)
    data[movie + 16 : movie + 20] = ticks
    header = data.index(b"tkhd") + 4
    data[header + 20 : header + 24] = ticks
    target.write_bytes(data)


def shown_again(clip: Path, target: Path, numbers: list[float], rate: float) -> None:
    """Encode the upright pictures with these numbers at an even rate [Hz], as an editor does that changes the speed.

    A number between two pictures is a blend of them; one that comes twice is held.
    """
    with av.open(str(clip)) as old:
        pictures = [
            np.rot90(frame.to_ndarray(format="gray"), round(frame.rotation / 90))
            for frame in old.decode(video=0)
        ]
    with av.open(str(target), "w") as new:
        stream = _stream(new, pictures[0].shape)
        for place, number in enumerate(numbers):
            first = min(int(number), len(pictures) - 1)
            share = number - first
            after = pictures[min(first + 1, len(pictures) - 1)]
            mixed = np.rint((1 - share) * pictures[first] + share * after).astype(np.uint8)
            shown = av.VideoFrame.from_ndarray(np.ascontiguousarray(mixed), format="gray").reformat(
                format="yuv420p"
            )
            shown.pts, shown.time_base = round(place * TICKS / rate), Fraction(1, TICKS)
            new.mux(stream.encode(shown))
        new.mux(stream.encode(None))


def replayed(clip: Path, target: Path, pace: float, rate: float, blended: bool = False) -> None:
    """Play a clip so many of its pictures a picture [-], at an even rate [Hz]: held or left out, or else blended."""
    with av.open(str(clip)) as old:
        count = old.streams.video[0].frames
    numbers = [pace * number for number in range(int((count - 1) / pace) + 1)]
    shown_again(clip, target, numbers if blended else [float(int(number + 1e-6)) for number in numbers], rate)


def ramped(
    seconds: float, filmed: float, shown: float, start: float, stop: float, slower: float
) -> list[float]:
    """Return the numbers of the pictures that an editor shows at an even rate of a clip filmed at another [Hz].

    From ``start`` to ``stop`` [s, of what was filmed] it plays ``slower`` times as slowly, else in real time.
    """
    numbers, at = [], 0.0
    while at < seconds:
        numbers.append(float(round(at * filmed)))
        at += 1 / shown / (slower if start <= at < stop else 1.0)
    return numbers


def with_notes(clip: Path, target: Path, notes: bytes) -> None:
    """Copy a clip with something appended, as phones do."""
    target.write_bytes(clip.read_bytes() + notes)


def beside_other_pictures(clip: Path, target: Path, count: int, size: tuple[int, int]) -> None:
    """Copy a clip's coded pictures behind another stream of ``count`` grey pictures of a size [px], coded one by one.

    A single one is marked as the cover.
    """
    with av.open(str(clip)) as old, av.open(str(target), "w") as new:
        other: Any = new.add_stream("mjpeg", rate=30)
        other.width, other.height, other.pix_fmt = *size, "yuvj420p"
        if count == 1:
            other.disposition = Disposition.attached_pic
        stream = new.add_stream_from_template(old.streams.video[0])
        for number in range(count):
            grey = np.full((size[1], size[0]), 40 + number, np.uint8)
            frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format="yuvj420p")
            frame.pts = number
            new.mux(other.encode(frame))
        new.mux(other.encode(None))
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)


def held(clip: Path, target: Path, times: int) -> None:
    """Encode a clip again with each picture of every ``times`` replaced by the first of them: as many, but held."""
    with av.open(str(clip)) as old:
        stream = old.streams.video[0]
        rate, count = float(stream.average_rate), stream.frames
    shown_again(clip, target, [float(number // times * times) for number in range(count)], rate)


def in_ticks(clip: Path, target: Path, ticks: int) -> None:
    """Copy a clip's coded pictures with their times rounded to so many ticks a second, as some phones' files have them."""
    with av.open(str(clip)) as old, av.open(str(target), "w") as new:
        pictures = old.streams.video[0]
        copied = new.add_stream_from_template(pictures)
        base = float(pictures.time_base or 1)
        for packet in old.demux(pictures):
            if packet.pts is not None and packet.dts is not None:
                for name in ("pts", "dts"):
                    setattr(packet, name, round(round(getattr(packet, name) * base * ticks) / ticks / base))
                packet.stream = copied
                new.mux(packet)
