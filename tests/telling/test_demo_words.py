"""The demo in words: every step, and the truth beside what was measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from flybench.bench.verdict.result import BenchResult, ClipFacts
from flybench.jobs.demo import DemoFly, DemoRiver, Heading, RiverSpeed
from flybench.statistics.budget import BudgetLine
from flybench.telling.bench import demo as telling

CLIP = ClipFacts("moss.mp4", "00" * 32, 535, 540, 960, 0, 9.0, 59.98, 1.0)
RESULT = BenchResult(CLIP, "card", 0.0003, 0.001, [], 0.279, [BudgetLine("time base", 0.0013)])
FLY = DemoFly("moss", RESULT, 0.2793, Path("moss.png"))


def text_of(lines: list[str]) -> str:
    """Return lines as one text with single blanks; every line of them must fit on the terminal."""
    text = "\n".join(lines)
    assert max(map(len, text.splitlines())) <= 80
    return " ".join(text.split())


def test_every_step_is_told() -> None:
    steps = (
        (Heading(1, "card", "card.pdf"), "1. The scale card, to print and to stand in the tank: card.pdf"),
        (Heading(2, "clip", "moss"), "2. moss: a rendered clip of an invented fly, measured with its sheet"),
        (FLY, "USABLE: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 0 drops"),
        (
            Heading(5, "catalog"),
            "5. The catalog of invented flies, with these measured ones, and labels for their drawers",
        ),
        (
            Heading(6, "river"),
            "6. What these speeds become in a river: 6 °C, 1.0 m deep, 0.5 m/s at the surface, gravel bed",
        ),
    )
    for step, text in steps:
        assert text_of(telling.step_lines(step)) == text


def test_the_river_is_told() -> None:
    speeds = [RiverSpeed("moss", 0.27, 0.01, 0.948), RiverSpeed("reed", 0.40, 0.01, 1.02)]
    river = DemoRiver(speeds, "moss-s", 0.32, (0.23, 0.42), "reed", "moss", 0.92, 2.5)
    assert text_of(telling.step_lines(river)) == (
        "moss: 27.0 ± 2.0 cm/s (10.6 ± 0.8 in/s), 5.2 % slower "
        "reed: 40.0 ± 2.0 cm/s (15.7 ± 0.8 in/s), 2.0 % faster "
        "moss-s, which is not tied yet: about 32 cm/s; 95 of 100 such flies sink at 23 to 42 cm/s "
        "The rig to tie on: reed as point and moss as dropper. They are down within 2.5 m in 92 of 100 drifts."
    )


def test_the_truth_stands_beside_what_was_measured() -> None:
    """0.279 ± 0.0026 m/s holds 0.2793 and not 0.2817; a refused one holds nothing."""
    wrong = replace(FLY, name="reed", truth=0.2817)
    refused = replace(FLY, name="slate", result=replace(RESULT, sink_speed=None, budget=[]))
    assert [fly.holds for fly in (FLY, wrong, refused)] == [True, False, False]
    assert replace(FLY, truth=0.2816).holds
    text = text_of(telling.lines(Path("/place"), [FLY, wrong, refused]))
    assert text.startswith(
        "Measured, and the truth from which the clips were rendered: fly measured, k = 2 true "
        "moss 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) 27.93 cm/s inside "
        "reed 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) 28.17 cm/s OUTSIDE "
        "slate no sink speed 27.93 cm/s OUTSIDE "
        "3 report pages and the rest are in /place moss.png: the report page of moss, also as .pdf"
    )
    assert "flybench ladder --catalog /place/catalog.sqlite" in text
    assert text.endswith("Delete the folder when you have seen enough. Next: flybench bench card --help")
