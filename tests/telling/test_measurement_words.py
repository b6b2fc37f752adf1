"""A measurement in words: whole texts for every kind of result, none of it wider than the terminal."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult, ClipFacts, FreeWater, MeasuredDrag, MeasuredDrop
from flybench.statistics.budget import BudgetLine
from flybench.telling.bench import measurement as telling

AGAIN = "Film the fly falling freely past the scale, with the whole column in view."
CLIP = ClipFacts("drop.mp4", "00" * 32, 535, 540, 960, 0, 9.0, 59.98, 1.0)


def measured(start: float, speed: float, *flags: str, fitted: bool = True) -> MeasuredDrop:
    """Return a drop of 48 frames, of which 45 were used; ``speed`` in m/s."""
    drop: Any = SimpleNamespace(times=np.linspace(start, start + 0.8, 48))
    fit: Any = SimpleNamespace(terminal_share=0.987, terminal_speed=speed, used=np.arange(48) < 45)
    return MeasuredDrop(drop, fit if fitted else None, 0.001, 0.0, list(flags))


GOOD = BenchResult(
    CLIP,
    "card",
    0.0003345,
    0.001,
    [measured(0.75, 0.2767), measured(3.1, 0.2802), measured(5.45, 0.2791)],
    0.279,
    [BudgetLine("drop-to-drop spread", 0.0013, 5.0), BudgetLine("time base", 0.00001)],
    free_water=FreeWater(0.284, 0.005, 0.982),
    drag=MeasuredDrag(2.22e-3, 0.025e-3, 55e-6, 2e-6, 7.28, 7.5e-6, 836.0, 15.0),
)


def text_of(lines: list[str]) -> str:
    """Return lines as one text with single blanks; every line of them must fit on the terminal."""
    text = "\n".join(lines)
    assert max(map(len, text.splitlines())) <= 80
    return " ".join(text.split())


def test_a_good_result() -> None:
    """Percentages by hand: 0.0013 / 0.279 is 0.47 %, and 1 - 0.982 is 1.8 %."""
    assert text_of(telling.lines(GOOD)) == (
        "GOOD: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 3 drops "
        "free water 28.4 ± 1.0 cm/s (11.2 ± 0.4 in/s); the walls of the tank took 1.8 % of it "
        "drag drag area 55 ± 4 mm², weight in water 2.22 ± 0.05 mN; it drags like 15.0 bare beads (drag coefficient "
        "7.28 on the bead's frontal area, Reynolds number 836) "
        "clip 540 x 960 px upright, 535 frames at 59.98 a second; 0.3345 mm a pixel "
        "drop start, s cm/s ± (k = 2) of terminal frames flags "
        "1 0.75 27.67 0.20 98.7 % 45 2 3.10 28.02 0.20 98.7 % 45 3 5.45 27.91 0.20 98.7 % 45 "
        "uncertainty drop-to-drop spread 0.47 %; together 0.47 % of the speed, k = 1 (5 degrees of freedom)"
    )


def test_what_was_not_measured_is_left_out() -> None:
    slow = replace(CLIP, stretch=4.0, frames=1)
    bare = replace(
        GOOD,
        clip=slow,
        drops=GOOD.drops[:1],
        free_water=None,
        drag=replace(GOOD.drag, dressing_factor=None),  # type: ignore[type-var]
        budget=[BudgetLine("time base", 0.0013)],
    )
    assert text_of(telling.lines(bare)) == (
        "USABLE: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 1 drop "
        "drag drag area 55 ± 4 mm², weight in water 2.22 ± 0.05 mN "
        "clip 540 x 960 px upright, 1 frame at 59.98 a second, played 4 times slower; 0.3345 mm a pixel "
        "drop start, s cm/s ± (k = 2) of terminal frames flags 1 0.75 27.67 0.20 98.7 % 45 "
        "uncertainty time base 0.47 %; together 0.47 % of the speed, k = 1"
    )
    assert "drag" not in text_of(telling.lines(replace(bare, drag=None)))


def test_drops_that_do_not_count_and_many_flags() -> None:
    flags = ("not-terminal", "tilted-path", "odd-drop", "tumbling", "near-wall", "spiralling-path")
    some = replace(
        GOOD, drops=[*GOOD.drops, measured(7.0, 0.2, *flags), measured(9.0, 0.2, "two-flies", fitted=False)]
    )
    lines = telling.lines(some)
    text = text_of(lines)
    assert "from 3 drops" in text
    assert f"4 7.00 not used 98.7 % 48 {' '.join(flags)} 5 9.00 not used - 48 two-flies" in text
    for flag in (*flags, "two-flies"):
        assert f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}" in text
    heads = next(line for line in lines if "of terminal" in line)
    cells = next(line for line in lines if "not-terminal" in line)
    assert cells.splitlines()[0].index("not-terminal") == heads.index("flags")
    assert all(line.startswith(" " * heads.index("flags")) for line in cells.splitlines()[1:])


REFUSED = replace(GOOD, sink_speed=None, budget=[], free_water=None, drag=None)


@pytest.mark.parametrize(
    ("result", "why"),
    [
        (replace(REFUSED, drops=[]), f"No drop was found: nothing moved. {AGAIN}"),
        (
            replace(REFUSED, drops=[], left_out={"rose (a bubble?)": 27, "hardly moved": 20}),
            f"No drop was found: 27 rose (a bubble?), 20 hardly moved. {AGAIN}",
        ),
        (
            replace(REFUSED, drops=[], left_out={"rose (a bubble?)": 3}, flags=["card-upside-down"]),
            "No drop was found: 3 rose (a bubble?). The picture stands on its head: turn the clip the right way up.",
        ),
        (
            replace(REFUSED, drops=[measured(0.0, 0.2, "not-terminal", "tilted-path")]),
            f"1 drop was seen, and none can be used. {FLAGS['not-terminal'].meaning}",
        ),
        (
            replace(
                REFUSED,
                drops=[
                    measured(0.0, 0.2, "two-flies"),
                    measured(1.0, 0.2, "two-flies", "poor-fit", fitted=False),
                ],
            ),
            f"2 drops were seen, and none can be used. {FLAGS['two-flies'].meaning} {FLAGS['poor-fit'].meaning}",
        ),
    ],
)
def test_a_refused_result_says_why(result: BenchResult, why: str) -> None:
    assert telling.refusal(result) == why
    assert telling.verdict_line(result) == f"REFUSED: no sink speed. {why}"
    assert text_of(telling.lines(result)).startswith(f"REFUSED: no sink speed. {why} clip 540 x 960")


def test_a_narrow_terminal_is_heeded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    first = telling.lines(GOOD)[0]
    assert first == "GOOD: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank,\nk = 2, from 3 drops"
