"""A clip that flybench drew is told from a user's own, so that only the former may be replaced."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from flybench.bench.clip.own_mark import made_by_flybench
from flybench.bench.overlay.encode import Encoder

DEMO = Path(__file__).parents[2] / "bench_videos" / "clips" / "reed-slip.mp4"


def drawn(path: Path) -> Path:
    with Encoder(path, (64, 48), 1 / 30) as out:
        for number in range(3):
            out.write(np.zeros((48, 64, 3), np.uint8), number / 30)
    return path


def commented(path: Path, words: str) -> Path:
    """Write a clip by PyAV alone, with a comment of somebody else's."""
    with av.open(str(path), "w", format="mp4") as container:
        container.metadata["comment"] = words
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        frame = av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="bgr24")
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def test_an_overlay_is_known_by_its_mark(tmp_path: Path) -> None:
    assert made_by_flybench(drawn(tmp_path / "o.mp4"))


def test_the_mark_survives_a_new_name_without_suffix(tmp_path: Path) -> None:
    assert made_by_flybench(drawn(tmp_path / "o.mp4").rename(tmp_path / "renamed"))


@pytest.mark.parametrize("words", ["", "my best drop", "measured with flybench, drawn by hand"])
def test_another_comment_is_no_mark(words: str, tmp_path: Path) -> None:
    assert not made_by_flybench(commented(tmp_path / "mine.mp4", words))


def test_a_phones_clip_is_not_ours() -> None:
    assert not made_by_flybench(DEMO)


def test_what_is_no_clip_is_not_ours(tmp_path: Path) -> None:
    text, empty, cut = tmp_path / "words.mp4", tmp_path / "empty.mp4", tmp_path / "cut.mp4"
    text.write_text("drawn by flybench: an overlay, not an original clip")
    empty.write_bytes(b"")
    cut.write_bytes(drawn(tmp_path / "o.mp4").read_bytes()[:200])
    assert not any(map(made_by_flybench, (text, empty, cut, tmp_path, tmp_path / "nothing")))
