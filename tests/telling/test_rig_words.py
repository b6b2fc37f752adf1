"""A river's answers in words: whole sentences, counted right, no wider than 80 columns, and the same in machine form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flybench.jobs.river.adjust import Adjustment
from flybench.jobs.river.box import FlyBox
from flybench.jobs.river.rigs import RigChoice, RigComparison, RigDrift
from flybench.quantity import Measured
from flybench.rig.advice.aim import Aim
from flybench.rig.advice.choosing import Candidate, Choice
from flybench.rig.advice.next_point import NextPoint, Offer
from flybench.rig.advice.takes import Takes
from flybench.rig.advice.touches import prior_belief
from flybench.rig.odds.drift import Drift, Fan, FlyPath
from flybench.rig.odds.flags import FLAGS
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.bed import UNKNOWN, bed_named, bed_of_roughness
from flybench.rig.water.current import Current
from flybench.rig.water.level import NEAR_BOTTOM
from flybench.shop.river.rig_session import ReportedDrifts, RigSession
from flybench.shop.river.rig_texts import RigTexts
from flybench.telling.river import adjustment, choice, compared_rigs, drift

RIVER = Current(Measured(1.0, 0.1), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
FLY = RigFly("M1", Measured(0.3, 0.01), Measured(2e-3, 1e-4))


@pytest.fixture(autouse=True)
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def path(role: str, name: str) -> FlyPath:
    deep = np.linspace(0.0, 0.9, 41)
    return FlyPath(role, name, 0.3, 2e-3, deep, deep, deep, deep, deep - 0.1, deep + 0.1)


def drifted(droppers: int = 1, draws: int = 200, reached: Fan | None = None) -> RigDrift:
    """Return an invented drift of 4 s."""
    names = [("dropper", f"a-code-of-some-length-{number}") for number in range(droppers)]
    flies = tuple(path(*one) for one in [*names, ("point", "M1")])
    fan = reached or Fan(2.2, 3.5, float("inf"))
    drift = Drift(
        times=np.linspace(0.0, 4.0, 41),
        flies=flies,
        tension=np.full(41, 1e-3),
        angle=np.full(41, 0.5),
        time_to_level=fan,
        way_to_level=replace(fan, middle=fan.middle / 2),
        share_reached=0.57,
        share_at_level=0.1,
        share_on_bed=0.04,
        floor=0.994,
        flags=(),
        draws=draws,
    )
    return RigDrift(Rig(Tackle(0.15e-3, 2.0), (FLY,)), RIVER, NEAR_BOTTOM, drift)


def candidate(names: tuple[str, ...], **changes: object) -> Candidate:
    made = Candidate((0,), names, None, 2.5, 0.12, 0.01, 0.79, 0.03, 0.16, 0.03, 0.0, 0.0, 0.0)
    return replace(made, **changes)  # type: ignore[arg-type]


def chosen(*ranked: Candidate, tuned: tuple[Candidate, ...] = ()) -> RigChoice:
    tackle = Tackle(0.15e-3, 2.0, (0.5,))
    return RigChoice(FlyBox([FLY], []), RIVER, tackle, Aim(), Choice(ranked, 1, 200, ()), tuned)


def adjusted(best: str = "M2", steps: int = 1, takes: Takes | None = None) -> Adjustment:
    belief = prior_belief(RIVER)
    offers = (Offer("M1", 0.05), Offer("M2", 0.22))
    found = NextPoint(belief, belief, 0.05, next(one for one in offers if one.name == best), steps, offers)
    session = RigSession(RigTexts(), 8.0, (ReportedDrifts("m1", None, 6, "never"),))
    return Adjustment(session, found, takes or Takes(0, 0), None)


def test_a_drift_in_words() -> None:
    assert drift.drift_summary(drifted()) == [
        "The fish are 0.79 to 0.99 m deep; the tops of the stones lie 0.99 m deep.",
        "The point comes down to the fish in 57% of 200 drifts: after 3.5 s and 1.8 m\n"
        "  from where it landed (nine drifts in ten: 2.2 s to never, 2.2 m to never).",
        "It is at the fish's level for 10% of the drift, and lies on the bed for 4%.",
    ]


def test_a_drift_that_never_comes_down_says_so() -> None:
    never = Fan(float("inf"), float("inf"), float("inf"))
    assert drift.drift_summary(drifted(reached=never))[1] == (
        "The point comes down to the fish in 57% of 200 drifts, so not in the middle one."
    )
    assert drift.drift_summary(drifted(draws=1, reached=never))[1] == (
        "By the best estimate, the point never comes down to the fish."
    )
    assert drift.record(drifted(reached=never))["time_to_band_s"] is None


def test_the_best_estimate_has_no_range() -> None:
    assert "9 of 10 points" in drift.lines(drifted())[0]
    assert "9 of 10 points" not in drift.lines(drifted(draws=1))[0]


def test_which_water_was_asked_about_is_said() -> None:
    assert drift.water_line(RIVER) == "Water: 1.00 m deep, 0.60 m/s at the surface, 10 °C, bed of gravel."
    unknown = drift.water_line(replace(RIVER, bed=UNKNOWN))
    assert unknown.endswith("10 °C, nothing is known of the bed.")
    rough = drift.water_line(replace(RIVER, bed=bed_of_roughness(Measured(5e-3, 1e-3))))
    assert " ".join(rough.split()).endswith("bed with a roughness length of 5 mm.")


def test_a_choice_in_words() -> None:
    lines = choice.lines(
        chosen(candidate(("A1", "M1")), candidate(("M2", "M1"), behind=0.5, utility=-0.38)), 8
    )
    assert lines == [
        "                       down  at fish's  on the",
        "   dropper  point   in time      level     bed  score",
        "=  A1       M1     79% ± 6%        16%      3%  +0.12",
        "   M2       M1     79% ± 6%        16%      3%  -0.38",
        "",
        "Water: 1.00 m deep, 0.60 m/s at the surface, 10 °C, bed of gravel.",
        '1 rig of 1 fly tried; "down in time" is within 2.5 m of where the flies land.',
        "Land the flies 2.5 m upstream of the fish.",
    ]


def test_rigs_as_good_as_the_best_are_counted_and_late_ones_get_a_cure() -> None:
    twice = choice.lines(chosen(candidate(("A1", "M1")), candidate(("M2", "M1"))), 8)
    assert (
        "2 rigs, marked =, are as good as the best as far as 200 drifts tell: tie on\n  whichever you like."
        in twice
    )
    late = choice.lines(chosen(candidate(("A1", "M1"), in_time=0.3)), 8)
    assert any(line.startswith("None of these comes down in time in half of the drifts.") for line in late)
    led = choice.lines(chosen(candidate(("A1", "M1")), tuned=(candidate(("A1", "M1"), lead_speed=0.4),)), 8)
    assert led[-1] == (
        "Tuned: A1 + M1, landed 2.5 m upstream of the fish and led at 0.40 m/s: score\n  +0.12."
    )


def test_advice_counts_flies_right() -> None:
    assert adjustment.advice_line(adjusted()) == (
        "Tie on M2, 1 fly deeper in this water: it touches the bottom in 22% of drifts."
    )
    assert adjustment.advice_line(adjusted(steps=-3)).startswith(
        "Tie on M2, 3 flies shallower in this water:"
    )
    assert adjustment.advice_line(adjusted("M1", 0)) == "Stay with m1."
    far = replace(adjusted("M1", 0).next, now=0.9)
    assert adjustment.advice_line(replace(adjusted("M1", 0), next=far)) == (
        "Stay with m1. No fly of the box does better: change leader, slack or entry."
    )


def test_the_fly_on_the_point_and_the_one_to_tie_on_are_marked() -> None:
    lines = adjustment.lines(adjusted())
    assert "  M1   5%  <- on the point now" in lines
    assert "  M2  22%  <- tie this on" in lines
    assert "  M1   5%  <- stays on" in adjustment.lines(adjusted("M1", 0))


def test_nothing_is_wider_than_eighty_columns() -> None:
    named = candidate(("a-code-of-18-let-1", "a-code-of-18-let-2"))
    lines = [
        *drift.lines(drifted(2)),
        *compared_rigs.lines(
            RigComparison(["as asked", "leader-diameter 0.10 mm, entry steep"], [drifted()] * 2)
        ),
        *choice.lines(chosen(named, named), 8),
        *adjustment.lines(adjusted(takes=Takes(3, 1))),
        *drift.flag_lines(list(FLAGS)),
        drift.caution(),
    ]
    for line in "\n".join(lines).splitlines():
        assert len(line) <= 80, line


def test_machine_forms_hold_what_the_words_say() -> None:
    record = drift.record(drifted(1))
    assert [fly["role"] for fly in record["flies"]] == ["dropper", "point"]
    assert (record["share_in_band"], record["share_grounded"], record["drift_to_band_m"]) == (0.1, 0.04, 1.75)
    assert record["time_to_band_5_95_s"] == [2.2, None]
    record = choice.record(chosen(candidate(("A1", "M1")), candidate(("M2", "M1"))), 1, None)
    assert [one["flies"] for one in record["ranked"]] == [["A1", "M1"]]
    assert adjustment.record(adjusted())["next"] == {"point": "M2", "touch_chance": 0.22, "steps": 1}


@pytest.mark.parametrize(
    ("dropper", "point", "verdict"),
    [
        (0, 0, "No fish took yet, so nothing is known."),
        (
            1,
            0,
            "It cannot be told which fly is taken more often. 1 take may be mere chance.",
        ),
        (
            5,
            0,
            "The dropper is taken more often, with a probability of 98%. 5 takes may be mere chance.",
        ),
        (7, 8, "It cannot be told which fly is taken more often."),
        (4, 16, "The point is taken more often, with a probability of more than 99%."),
    ],
)
def test_a_small_sample_is_said_to_be_small(dropper: int, point: int, verdict: str) -> None:
    assert adjustment.takes_verdict(Takes(dropper, point)) == verdict
