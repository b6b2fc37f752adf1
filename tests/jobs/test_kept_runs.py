"""Bench runs kept without their clips and fitted again: the same result, and damaged or newer data refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from measured_clips import CLIPS, measured, without_drops

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.saved.refitting import refit, saved_bytes
from flybench.bench.saved.run_bytes import MARK, VERSION
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.result import as_json
from flybench.bench.view.geometry import look
from flybench.errors import FlybenchError
from flybench.jobs.demo import shipped_clips


@pytest.mark.slow
@pytest.mark.parametrize("name", CLIPS)
def test_fitted_again_without_the_clip_nothing_changes(name: str) -> None:
    run, tables = measured(name)
    data = saved_bytes(run)
    again = refit(data, tables)
    assert again.sink_speed == pytest.approx(run.result.sink_speed, rel=1e-9)
    assert again.standard_uncertainty == pytest.approx(run.result.standard_uncertainty, rel=1e-9)
    assert as_json(again, "") == as_json(run.result, "")
    assert len(data) < 200_000 * run.result.clip.duration_s / 20.0
    assert data == saved_bytes(run)


@pytest.mark.slow
def test_what_is_far_from_every_drop_is_not_kept() -> None:
    run, _ = measured("reed-slip")
    last = max(drop.drop.times[-1] for drop in run.result.drops)
    late = last + 1.5
    index = int(np.argmin(np.abs(run.observed.times / run.clock.stretch - late)))
    spot = replace(run.observed.spots[0], frame=index, clip_time=late * run.clock.stretch)
    spots = sorted([*run.observed.spots, spot], key=lambda one: one.frame)
    assert saved_bytes(replace(run, observed=replace(run.observed, spots=spots))) == saved_bytes(run)
    near = replace(spot, clip_time=(last + 0.5) * run.clock.stretch)
    assert saved_bytes(
        replace(run, observed=replace(run.observed, spots=[*run.observed.spots, near]))
    ) != saved_bytes(run)


@pytest.mark.slow
def test_a_picture_that_breathed_is_kept_with_the_run_and_doubts_the_drop_that_fell_meanwhile() -> None:
    """A growth of 6 % adds 6 % over the root of three to that drop's own uncertainty, as squares, and nothing to others."""
    run, tables = measured("reed-slip")
    first = run.result.drops[0].drop.rows
    frames = (run.observed.spots[first[0]].frame, run.observed.spots[first[-1]].frame)
    breathed = replace(run.observed, breaths=((frames[1] - 2, frames[1] + 2, 0.06),))
    again = refit(saved_bytes(replace(run, observed=breathed)), tables)
    flagged = ["picture-breathes" in drop.flags for drop in again.drops]
    assert flagged == [True] + [False] * (len(again.drops) - 1)
    for before, after in zip(run.result.used_drops, again.used_drops, strict=True):
        assert before.fit is not None
        added = before.fit.terminal_speed * 0.06 / math.sqrt(3.0) if after is again.drops[0] else 0.0
        assert after.uncertainty == pytest.approx(math.hypot(before.uncertainty, added), rel=1e-6)


@pytest.mark.slow
def test_a_changed_sheet_is_heeded() -> None:
    run, tables = measured("reed-slip")
    assert run.result.sink_speed is not None
    longer = {**tables, "scale": {**tables["scale"], "bar": "101 mm"}}
    again = refit(saved_bytes(run), longer)
    assert again.sink_speed is not None
    # A bar longer by 1 % makes every pixel, hence the speed, larger by 1 % but for the gap and the lens.
    assert again.sink_speed / run.result.sink_speed == pytest.approx(1.01, abs=5e-4)
    unmeasured = {**tables, "scale": {key: tables["scale"][key] for key in ("card", "gap")}}
    assert "card-size-unchecked" in refit(saved_bytes(run), unmeasured).flags


@pytest.mark.slow
def test_a_changed_sheet_gives_what_measuring_again_gives() -> None:
    run, tables = measured("reed-slip")
    longer = {**tables, "scale": {**tables["scale"], "bar": "101 mm"}}
    straight = measure(open_clip(shipped_clips() / "reed-slip.mp4"), read_sheet(longer)).result
    assert refit(saved_bytes(run), longer).sink_speed == pytest.approx(straight.sink_speed, rel=1e-9)


@pytest.mark.slow
def test_another_kind_of_scale_is_refused() -> None:
    run, tables = measured("reed-slip")
    points = {"points": [[100, 100], [100, 900]], "length": "200 mm"}
    with pytest.raises(FlybenchError) as refused:
        refit(saved_bytes(run), {**tables, "scale": points})
    assert str(refused.value) == (
        "reed-slip.mp4: was measured with the card as its scale and can only be fitted again with that. "
        "To use another scale, measure the clip again."
    )


def test_nothing_seen_is_kept_too() -> None:
    run, tables = measured("reed-slip")
    nothing = without_drops(run)
    again = refit(saved_bytes(nothing), tables)
    assert (again.verdict, again.drops, again.sink_speed) == ("refused", [], None)


def test_damaged_data_are_told_of() -> None:
    run, tables = measured("reed-slip")
    data = saved_bytes(run)
    damaged = [b"", MARK, data[:-1], data[: len(data) // 2], data + b"x", b"x" + data, b"\0" * 100]
    for place in range(0, len(data), 499):
        damaged.append(data[:place] + bytes([data[place] ^ 0x55]) + data[place + 1 :])
    for bad in damaged:
        with pytest.raises(FlybenchError):
            refit(bad, tables)
    newer = MARK + bytes([VERSION + 1]) + data[len(MARK) + 1 :]
    with pytest.raises(FlybenchError) as refused:
        refit(newer, tables)
    assert str(refused.value) == (
        f"the saved track is of version {VERSION + 1}, and this flybench reads up to {VERSION}. Update flybench."
    )


@pytest.mark.parametrize("name", CLIPS)
def test_kept_calibration_is_that_of_the_run(name: str) -> None:
    run, _ = measured(name)
    geometry = run.view.geometry
    assert look(geometry.settings, run.observed.scale_points).metres_per_px == geometry.metres_per_px
