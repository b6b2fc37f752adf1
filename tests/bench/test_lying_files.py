"""Files that lie about times, lengths, turn and size: each way twice; ``benchmarks/damage.py`` tries them by the thousand."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from clips import rendered, sheet_of
from scenes import SMALL
from spoilt import ANY, BOXED, spoilt
from written_clips import write_clip

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.flags import doubts
from flybench.errors import FlybenchError
from flybench.jobs.bench.look import look_at

LIES = [way for way in BOXED if way not in ANY or "huge" in way]


@pytest.mark.slow
@pytest.mark.parametrize("way", LIES)
def test_a_lying_file_is_refused_flagged_or_measured_rightly(way: str, folder: Path, tmp_path: Path) -> None:
    """Truth: rendered at half a metre a second. One with enormous gaps, so with one time, once broke ``bench look``."""
    clip, truth = rendered(SMALL, folder)
    path = tmp_path / "lying.mp4"
    for turn in range(2):
        copy = spoilt(clip.read_bytes(), list(BOXED).index(way) + turn * len(BOXED))
        assert copy.how == way
        path.write_bytes(copy.data)
        with suppress(FlybenchError):
            look_at(path, None, {})
        try:
            result = measure(open_clip(path), read_sheet(sheet_of(SMALL, {}))).result
        except FlybenchError:
            continue
        if result.sink_speed is not None and not doubts(result.all_flags):
            assert result.standard_uncertainty is not None
            assert abs(result.sink_speed - truth.sink_speed_m_s) < 2 * result.standard_uncertainty, turn


def test_a_clip_whose_pictures_stop_decoding_is_said_to_be_damaged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first picture decodes as the clip is opened, and not again with several threads: so a damaged file once did."""
    path = tmp_path / "v.mp4"
    write_clip(path, [3000 * number for number in range(5)])
    monkeypatch.setattr("flybench.bench.clip.footage.Clip.frames", lambda clip: iter(()))
    with pytest.raises(FlybenchError) as caught:
        look_at(path, None, {})
    assert str(caught.value) == (
        f"{path}: none of its frames can be read. The file is damaged: copy it from the phone again, unedited."
    )


def test_pictures_at_equal_times_are_left_out_and_told(tmp_path: Path) -> None:
    """The shifts from decoding to showing (ISO/IEC 14496-12, 8.6.1.3) rounded down to two pictures: some share a time."""
    path = tmp_path / "v.mp4"
    write_clip(path, [3000 * number for number in range(30)])
    data = path.read_bytes()
    shown = data.index(b"ctts") + 8
    for entry in range(int.from_bytes(data[shown : shown + 4])):
        place = shown + 4 + 8 * entry + 4
        late = int.from_bytes(data[place : place + 4])
        data = data[:place] + (late // 6000 * 6000).to_bytes(4) + data[place + 4 :]
    path.write_bytes(data)
    clip = open_clip(path)
    times = [frame.clip_time for frame in clip.frames()]
    assert np.all(np.diff(times) > 0)
    assert clip.tally.unordered >= 3
    assert len(times) + clip.tally.unordered == 30
