"""The demo in words: every step, and the truth beside what was measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from flybench.bench.verdict.result import BenchResult, ClipFacts
from flybench.jobs.demo import RIVERS, DemoFly, Heading, RiverSeen, ShelfSeen, Untied
from flybench.shop.speeds.ladder import LadderRung
from flybench.statistics.budget import BudgetLine
from flybench.statistics.comparing import DoubtPart, Repeat, Side
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
            Heading(5, "shop"),
            "5. The rest of the invented shop: its runs are simulated, not filmed, and fitted as those of clips are; with "
            "weights, stock, and labels for the drawers",
        ),
        (
            Heading(6, "untied"),
            "6. Flies that nobody tied yet, predicted from those, and what is true of them",
        ),
        (Heading(7, "rivers"), "7. A box of four of these flies in three invented waters"),
    )
    for step, text in steps:
        assert text_of(telling.step_lines(step)) == text


def rung(code: str, speed: float) -> LadderRung:
    return LadderRung(code, code, Side(code, speed, (DoubtPart("clip", Repeat.NOTHING, 0.001),), {}, {}))


def test_the_shop_is_told() -> None:
    """32 over 25 cm/s is a gap, as it is more than 1.25 times as fast; 25 over 20 is none."""
    seen = ShelfSeen(33, [rung("F1", 0.20), rung("F2", 0.25), rung("F3", 0.32)], 1, 2, 1)
    assert text_of(telling.step_lines(seen)) == (
        "3 measured flies, from F1 at 20.0 to F3 at 32.0 cm/s; 33 simulated runs gave a speed "
        "Of 2 simulated flies the true speed lies inside the ± (k = 2) of 1 "
        "1 group of neighbours cannot be told apart (k = 2) "
        "A gap: nothing between 25.0 and 32.0 cm/s"
    )


def test_flies_not_tied_yet_stand_beside_their_truth() -> None:
    told = telling.step_lines([Untied("toll-12", 0.311, (0.273, 0.352), 0.289)])
    assert text_of(told) == (
        "variant predicted 95 of 100 true off by toll-12 about 31 27 to 35 28.9 cm/s 8 %"
    )


def test_the_river_is_told() -> None:
    assert text_of(telling.step_lines(RiverSeen(RIVERS[0], "reed", "moss", 0.92, 2.5))) == (
        f"{RIVERS[0].depth} deep, {RIVERS[0].surface_speed} at the surface, "
        f"{RIVERS[0].temperature.split()[0]} °C, {RIVERS[0].bed} bed: reed as point and moss as dropper, "
        "down within 2.5 m in 92 of 100 drifts"
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
