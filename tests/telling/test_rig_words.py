"""A river's answers in words: whole sentences, counted right, no wider than 80 columns, and the same in machine form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flybench.jobs.river.adjust import Adjustment
from flybench.jobs.river.box import FlyBox
from flybench.jobs.river.rigs import RigChoice, RigComparison, RigDrift
from flybench.quantity import Measured
from flybench.rig.advice.belief import prior_belief
from flybench.rig.advice.choosing import Candidate, Choice
from flybench.rig.advice.missing import MissingFly
from flybench.rig.advice.next_point import NextPoint, OtherWay
from flybench.rig.advice.takes import Takes
from flybench.rig.odds.draws import drawn
from flybench.rig.odds.drift import Drift, Fan, FlyPath, SideSeen
from flybench.rig.odds.flags import FLAGS
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Hold, Rig, Tackle
from flybench.rig.water.bed import UNKNOWN, bed_named, bed_of_roughness
from flybench.rig.water.current import Current
from flybench.shop.river.rig_session import ReportedDrifts, RigSession
from flybench.shop.river.rig_texts import RigTexts
from flybench.telling.river import adjustment, choice, compared_rigs, drift
from flybench.telling.river.tackle import tackle_lines, tackle_record, tackle_words

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
    deep = np.linspace(0.0, 0.9, 41)
    fan = reached or Fan(2.2, 3.5, float("inf"))
    drift = Drift(
        times=np.linspace(0.0, 4.0, 41),
        flies=flies,
        tension=np.full(41, 1e-3),
        angle=np.full(41, 0.5),
        time_to_level=fan,
        way_to_level=replace(fan, middle=fan.middle / 2),
        share_reached=0.57,
        goal=Goal(),
        landing=fan.high,
        useful_from=2.5,
        share_down=0.55,
        share_touched=0.31,
        share_at_level=0.1,
        share_on_bed=0.04,
        dropper_at_level=0.2,
        dropper_on_bed=0.01,
        floor=0.994,
        flags=(),
        draws=draws,
        seen=SideSeen((0, 40), deep, deep, deep, deep, deep),
    )
    return RigDrift(Rig(Tackle(0.15e-3, 2.0), (FLY,)), RIVER, Goal(), drift)


TACKLE = Tackle(0.15e-3, 2.0, (0.5,))


def candidate(names: tuple[str, ...], **changes: object) -> Candidate:
    shares = {"in_time": 0.8, "in_time_doubt": 0.03, "touched": 0.31, "at_level": 0.16, "on_bed": 0.03}
    rest = {"dropper": 0.1, "dropper_on_bed": 0.0, "behind": 0.0, "behind_doubt": 0.0, "slower": False}
    worth = {"landing": 2.5, "middle_way": 1.9, "worth": 0.12, "doubt": 0.01}
    return replace(Candidate((0,), names, TACKLE, **worth, **shares, **rest), **changes)  # type: ignore[arg-type]


def chosen(*ranked: Candidate, tuned: tuple[Candidate, ...] = ()) -> RigChoice:
    choice = Choice(ranked, 1, drawn(200, 1, 1, 1), ())
    return RigChoice(FlyBox([FLY], []), RIVER, TACKLE, Goal(), choice, tuned)


def adjusted(point: str = "M2", steps: int = 1, takes: Takes | None = None, **changes: object) -> Adjustment:
    belief = prior_belief(RIVER)
    offers = (candidate(("M1",), touched=0.05, worth=-0.2), candidate(("M2",), touched=0.22, worth=0.1))
    best_of = next(one for one in offers if one.names == (point,))
    found = NextPoint(belief, belief, offers[0], best_of, steps, offers, None, 0.4, 0.1)
    session = RigSession(RigTexts(), 8.0, (ReportedDrifts("m1", None, 6, "never"),))
    next_one = replace(found, **changes)  # type: ignore[arg-type]
    return Adjustment(session, RIVER, Goal(), next_one, takes or Takes(0, 0), None)


def test_a_drift_in_words() -> None:
    assert drift.drift_summary(drifted()) == [
        "The fish are 0.79 to 0.99 m deep; the tops of the stones lie 0.99 m deep, ± 0.20\n"
        "  m: in some drifts the water is that much deeper or shallower.",
        "The point comes down to the fish in 57 % of 200 drifts: after 3.5 s and 1.8 m\n"
        "  from where it landed (nine drifts in ten: 2.2 s to never, 2.2 m to never).",
        "It is down in time in 6 of 10 drifts; 8 of 10 drifts are wanted. A fly touches\n"
        "  the bottom in 3 of 10 drifts.",
        "From 2.5 s on, when it comes past the fish, the point is at their level for 10 %\n"
        "  of the time, and lies on the bed for 4 %; the dropper for 20 % and 1 %.",
        "Wanted: flies that are down with the fish in 8 of 10 drifts, touches of the\n"
        "  bottom in 3 of 10 drifts, and much time with the fish along 2 m.",
    ]
    near = drift.drift_summary(drifted(0, reached=Fan(1.0, 2.0, 3.0)))
    assert near[2] == (
        "Land it 3.0 m upstream of the fish: in 8 of 10 drifts it is then down with them.\n"
        "  A fly touches the bottom in 3 of 10 drifts."
    )


def test_a_drift_that_never_comes_down_says_so() -> None:
    never = Fan(float("inf"), float("inf"), float("inf"))
    assert drift.drift_summary(drifted(reached=never))[1] == (
        "The point comes down to the fish in 57 % of 200 drifts, too few to name a usual\n  time."
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


WANTED = [
    "Wanted: flies that are down with the fish in 8 of 10 drifts, touches of the",
    "  bottom in 3 of 10 drifts, and much time with the fish along 2 m.",
]


def test_a_choice_in_words() -> None:
    lines = "\n".join(
        choice.lines(chosen(candidate(("A1", "M1")), candidate(("M2", "M1"), behind=0.5, worth=-0.38)), 8)
    ).splitlines()
    assert lines == [
        "Point M1, dropper A1. Land them 2.5 m upstream of the fish: in 8 of 10 drifts",
        "  the point is then down with them. A fly touches the bottom in 3 of 10 drifts.",
        "",
        "    dropper  point   land  touch  fish  bed  worth",
        "->  A1       M1     2.5 m   31 %  16 %  3 %  +0.12",
        "    M2       M1     2.5 m   31 %  16 %  3 %  -0.38",
        "",
        *WANTED,
        "->: the rig named above. land: how far upstream of the fish; never: too seldom",
        "  down in time from anywhere. touch: drifts in which a fly touches the bottom.",
        "  fish, bed: share of the stretch that the point is with the fish, or lies on",
        "  the bed. worth: time with the fish less time on the bed, of all flies as they",
        "  count, less what is missing of what is wanted; 0.10 is a tenth of the stretch.",
        "1 rig of 1 fly tried.",
        "Water: 1.00 m deep, 0.60 m/s at the surface, 10 °C, bed of gravel.",
        "Line: 0.15 mm nylon, 2.00 m in the water, which drifts along at the surface.",
        "Worked out as seen from the side, along the current: where the line lies across",
        "  faster and slower water, the current pulls it sideways too, and the flies run",
        "  shallower than this.",
    ]


def test_a_tight_line_is_told_with_its_length_and_what_is_left_out_of_it() -> None:
    tight = Tackle(0.15e-3, 3.2, hold=Hold.TIGHT, lead_speed=0.48, tip_height=1.5)
    assert "\n".join(tackle_lines(tight)).splitlines() == [
        "Line: 0.15 mm nylon, 3.20 m from the rod's tip to the point; the tip is 1.50 m",
        "  above the water, led at 0.48 m/s.",
        "Worked out as seen from the side, along the current: where the line lies across",
        "  faster and slower water, the current pulls it sideways too, and the flies run",
        "  shallower than this.",
        "The part of the line in the air has its weight, but no wind blows on it: 3 m/s",
        "  of wind pulls a metre of it by 0.1 to 0.2 g, about as much as a small fly",
        "  weighs in water.",
    ]
    assert tackle_words(replace(tight, hold=Hold.STILL, lead_speed=None, tip_height=None)) == (
        "0.15 mm nylon, 3.20 m in the water, which is held still at the surface"
    )
    assert tackle_words(replace(tight, hold=Hold.LED, tip_height=None)) == (
        "0.15 mm nylon, 3.20 m in the water, led at 0.48 m/s"
    )
    assert tackle_record(tight) == {
        "leader_length_m": 3.2,
        "leader_diameter_m": 0.15e-3,
        "hold": "tight",
        "lead_speed_m_s": 0.48,
        "tip_height_m": 1.5,
    }


def test_rigs_as_good_as_the_best_are_counted_and_late_ones_get_a_cure() -> None:
    twice = choice.lines(chosen(candidate(("A1", "M1")), candidate(("M2", "M1"))), 8)
    assert (
        "2 rigs, marked -> or =, are as good as the best as far as 200 drifts tell: tie\n  on whichever you like."
        in twice
    )
    late = choice.lines(chosen(candidate(("A1", "M1"), in_time=0.3, landing=float("inf"))), 8)
    assert late[0] == (
        "Point M1, dropper A1. The point is down in time in only 3 of 10 drifts, even if\n"
        "  it lands 5.0 m upstream, which is as far as was looked: use a steeper entry,\n"
        "  more or thinner leader, or heavier flies. A fly touches the bottom in 3 of 10\n"
        "  drifts."
    )
    often = choice.lines(chosen(candidate(("A1", "M1"), in_time=0.3, landing=float("inf"), touched=0.7)), 8)
    assert often[0] == (
        "Point M1, dropper A1. The point is down in time in only 3 of 10 drifts, even if\n"
        "  it lands 5.0 m upstream, which is as far as was looked: a heavier point is\n"
        "  down sooner, but touches more often still. A fly touches the bottom in 7 of 10\n"
        "  drifts, where 3 of 10 are wanted: lighter flies, or less leader in the water,\n"
        "  touch less often."
    )
    assert "->  A1       M1     never   31 %  16 %  3 %  +0.12" in late
    led = replace(TACKLE, hold=Hold.LED, lead_speed=0.4, slack=0.3)
    told = choice.lines(chosen(candidate(("A1", "M1")), tuned=(candidate(("A1", "M1"), tackle=led),)), 8)
    assert told[-1] == (
        "Tuned: A1 + M1, landed 2.5 m upstream of the fish, with 30 % of the leader\n"
        "  loose, led at 0.40 m/s: worth +0.12."
    )


def test_a_light_point_under_a_heavy_dropper_is_not_said_to_be_as_good() -> None:
    mixed = choice.lines(chosen(candidate(("A1", "M1")), candidate(("M2", "M1"), slower=True)), 8)
    assert (
        "2 rigs, marked -> or =, are as good as the best as far as 200 drifts tell: tie\n"
        "  on whichever you like. In 1 of them the point sinks slower than a dropper, and\n"
        "  a light point trails above a heavy dropper: rather take another."
    ) in mixed
    one_tie = choice.lines(
        chosen(candidate(("A1", "M1")), candidate(("M2", "M1"), slower=True, behind=0.5)), 8
    )
    assert "rather take another" not in "\n".join(one_tie)


def test_a_fly_that_is_missing_is_told_with_where_it_may_come_from() -> None:
    lacks = MissingFly(0.4, 3.24e-3, candidate(("40 cm/s",), worth=0.4))
    without = replace(chosen(candidate(("A1", "M1"), worth=-0.1)), missing=lacks)
    assert " ".join(choice.advice(without)[1].split()) == (
        "The box lacks a point that sinks at about 40 cm/s and weighs about 0.33 g (3.2 mN) in water: it would be worth "
        '+0.40 instead of -0.10. What can be tied: flybench sink predict --for-speed "40 cm/s", and flybench sink gaps.'
    )
    there = choice.advice(replace(without, alike=("H7",)))[1]
    assert " ".join(there.split()).endswith(
        "instead of -0.10. The catalog has H7 of about that speed, which --box leaves out."
    )
    told = choice.record(without, 1, None)["missing"]
    assert told == {"speed_m_s": 0.4, "weight_n": 3.24e-3, "worth": 0.4, "alike": []}


def test_water_that_is_hard_to_stand_in_is_told_with_its_source() -> None:
    assert " ".join(str(drift.wading_caution(RIVER)).split()) == (
        "Do not count on standing here: 1 m deep at 0.6 m/s is 0.60 m²/s of depth times speed. In tests, adults lost their "
        "footing from about 0.6 m²/s (Abt and others 1989, Karvonen and others 2000); 0.4 m²/s, 1.2 m or 0.8 m/s is where "
        "older design rules for people end (Cox 2011). It holds for the whole way there."
    )
    easy = replace(RIVER, depth=Measured(0.5, 0.05), surface_speed=Measured(0.5, 0.05))
    assert drift.wading_caution(easy) is None
    assert drift.caution(easy) == drift.caution()
    assert drift.caution(RIVER).endswith(drift.caution())


def test_advice_counts_flies_right() -> None:
    assert adjustment.advice_line(adjusted()) == (
        "Tie on M2, 1 fly deeper in this water: a fly touches the bottom in 2 of 10\n"
        "  drifts; land it 2.5 m upstream of the fish."
    )
    assert adjustment.advice_line(adjusted(steps=-3)).startswith(
        "Tie on M2, 3 flies shallower in this water:"
    )
    near = candidate(("M1",), touched=0.2, landing=float("inf"))
    assert adjustment.advice_line(adjusted("M1", 0, here=near, best=near)) == (
        "Stay with m1: as the water is now believed to be, a fly touches the bottom in 2\n  of 10 drifts."
    )
    far = replace(near, touched=0.9)
    assert adjustment.advice_line(adjusted("M1", 0, here=far, best=far)) == (
        "Stay with m1: as the water is now believed to be, a fly touches the bottom in 9\n"
        "  of 10 drifts, where 3 of 10 are wanted. No fly of the box does better: change\n"
        "  leader, slack or entry."
    )


@pytest.mark.parametrize(
    ("dropper", "touched", "told"), [("D1", 0.9, True), ("D1", 0.4, False), (None, 0.9, False)]
)
def test_a_dropper_under_which_every_point_touches_too_often_is_to_be_changed(
    dropper: str | None, touched: float, told: bool
) -> None:
    often = candidate(("M1",), touched=touched)
    found = adjusted("M1", -2, best=often)
    reports = (ReportedDrifts("m1", dropper, 6, "every-time"),)
    line = adjustment.advice_line(replace(found, session=replace(found.session, reports=reports)))
    assert line.replace("\n ", "").endswith(" Take a lighter dropper too, or none.") is told


def test_another_way_than_another_fly_is_told() -> None:
    other = OtherWay("land it with 85 % of the leader loose", candidate(("M1",), touched=0.3))
    assert adjustment.lines(adjusted(other=other))[1] == (
        "Or keep the point and land it with 85 % of the leader loose: a fly then touches\n  in 3 of 10 drifts."
    )


@pytest.mark.parametrize(
    ("surprise", "wrong", "chance"),
    [
        (0.0049, 0.1, "1 in 200"),
        (0.4, 0.6, "1 in 2"),
        (0.019, 0.2, "1 in 50"),
        (1e-5, 0.99, "1 in 1000 or smaller"),
    ],
)
def test_a_river_that_does_not_fit_is_told(surprise: float, wrong: float, chance: str) -> None:
    [said] = adjustment.surprise_lines(adjusted(surprise=surprise, not_as_typed=wrong))
    assert " ".join(said.split()) == (
        f"What you saw was a {chance} chance in the water as typed: its depth or its speed, or the seconds of a drift, are "
        "probably not as typed. The water below allows for that. Measure the depth with the staff, time a float and a "
        "drift, and begin a new session with what you find."
    )
    assert adjustment.surprise_lines(adjusted(surprise=0.02, not_as_typed=0.49)) == []


def test_the_fly_on_the_point_and_the_one_to_tie_on_are_marked() -> None:
    lines = adjustment.lines(adjusted())
    assert "  M1       5 %  16 %  3 %  -0.20  <- on the point now" in lines
    assert "  M2      22 %  16 %  3 %  +0.10  <- tie this on" in lines
    assert "  M1       5 %  16 %  3 %  -0.20  <- stays on" in adjustment.lines(adjusted("M1", 0))


def flagged(*flags: str, current: Current = RIVER) -> RigDrift:
    one = drifted()
    return replace(one, current=current, drift=replace(one.drift, flags=flags))


def test_compared_rigs_tell_the_doubts_of_each() -> None:
    rigs = [
        flagged("stone-tops"),
        flagged("stone-tops", "film-drag"),
        flagged("stone-tops", "film-drag", "skates"),
    ]
    told = compared_rigs.doubt_lines(RigComparison(["as asked", "b", "c"], rigs))
    assert [line.split(": ")[0] for line in told] == ["stone-tops", "film-drag (rigs 2, 3)", "skates (rig 3)"]
    assert told[0] == drift.flag_lines(["stone-tops"])[0]


def test_compared_rigs_warn_of_the_water_that_is_hardest_to_stand_in() -> None:
    easy = replace(RIVER, depth=Measured(0.3, 0.03))
    found = RigComparison(["as asked", "b"], [flagged(current=easy), flagged()])
    assert compared_rigs.hardest_water(found) == RIVER


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
        drift.caution(RIVER),
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
    assert adjustment.record(replace(adjusted(), flags=("leader-short",)))["flags"] == ["leader-short"]
    told = adjustment.record(adjusted())
    assert told["next"] == {
        "point": "M2",
        "touch_chance": 0.22,
        "steps": 1,
        "worth": 0.1,
        "landing_m": 2.5,
    }
    assert (told["surprise"], told["water_not_as_typed"], told["other_way"]) == (0.4, 0.1, None)


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
            "The dropper is taken more often, with a probability of 98 %. 5 takes may be mere chance.",
        ),
        (7, 8, "It cannot be told which fly is taken more often."),
        (4, 16, "The point is taken more often, with a probability of more than 99 %."),
    ],
)
def test_a_small_sample_is_said_to_be_small(dropper: int, point: int, verdict: str) -> None:
    assert adjustment.takes_verdict(Takes(dropper, point)) == verdict
