"""What is said of a clip's clock: whole texts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_measurement_words import GOOD, REFUSED, measured, text_of

from flybench.bench.clip.clock import Source
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.time_base import TimeBase
from flybench.telling.bench import measurement as telling
from flybench.telling.bench.sheet import rate_question


def test_a_time_that_is_not_proved_is_said_in_the_first_lines() -> None:
    told = replace(
        GOOD, time_base=TimeBase(Source.UNTOLD, 30.0, 0.6, 0.5, (2.0,)), flags=["taken-as-real-time"]
    )
    assert text_of(telling.lines(told)).startswith(
        "USABLE: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 3 drops Taken as real time: 30 frames a "
        "second. If it was filmed in slow motion, give --capture-rate. free water 28.4"
    )


@pytest.mark.parametrize(
    "time_base",
    [
        TimeBase(Source.TYPED, 240.0, 0.97, 0.5, (2.0,)),
        TimeBase(Source.TAGGED, 30.0, 0.97, 0.5, (2.0,)),
        None,
    ],
)
def test_a_time_that_is_stated_is_not_mentioned(time_base: TimeBase | None) -> None:
    assert "real time" not in text_of(telling.lines(replace(GOOD, time_base=time_base)))


def test_a_time_that_only_the_falls_prove_is_said_in_the_first_lines() -> None:
    told = replace(GOOD, time_base=TimeBase(Source.UNTOLD, 30.0, 0.99, 0.97, (2.0,)))
    assert text_of(telling.lines(told)).startswith(
        "GOOD: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 3 drops Taken as real time: 30 frames a "
        "second. The falls rule out slow motion, but not a clip slowed by less than a half: if yours was, give "
        "--capture-rate. free"
    )


def test_a_clip_that_may_have_been_fitted_to_another_rate_says_by_how_much() -> None:
    fitted = TimeBase(Source.UNTOLD, 24.0, 0.7, 0.6, (1.25,), conformed=1.25)
    told = replace(GOOD, time_base=fitted, flags=["taken-as-real-time"])
    assert text_of(telling.lines(told)).startswith(
        "USABLE: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 3 drops Taken as real time: 24 frames a "
        "second. If it was filmed at 30 and every picture kept, the fly sinks 1.25 times as fast: give --capture-rate. free"
    )


@pytest.mark.parametrize(
    ("factors", "much"),
    [((4.0,), "about 4 times too slow"), ((4.0, 5.0, 3.0), "about 4 times too slow (perhaps 3 or 5 times)")],
)
def test_a_slowed_clip_is_refused_with_the_likely_factor_and_the_option(
    factors: tuple[float, ...], much: str
) -> None:
    time_base = TimeBase(Source.UNTOLD, 30.0, 0.0001, 0.0001, factors)
    slowed = replace(REFUSED, drops=[measured(0.0, 0.07, "looks-slowed")], time_base=time_base)
    assert telling.verdict_line(slowed) == (
        f"REFUSED: no sink speed. 1 drop was seen, and none can be used. {FLAGS['looks-slowed'].meaning} It looks {much}, as "
        'if filmed at 120 frames a second. Give the rate at which the camera filmed, for example --capture-rate "120 Hz".'
    )


@pytest.mark.parametrize(
    ("rate", "question"),
    [
        (None, ""),
        (
            0.0,
            "The clip holds pictures without times. Write the rate at which it was filmed as capture_rate.",
        ),
        (
            59.98,
            "The clip plays at 59.98 frames a second and does not say how fast it was filmed. Was it slow motion? Write the "
            'rate at which the camera filmed as capture_rate, or capture_rate = "59.98 Hz" if it was not.',
        ),
    ],
)
def test_the_sheet_asks_how_fast_the_clip_was_filmed(rate: float | None, question: str) -> None:
    lines = rate_question(rate)
    assert (text_of(lines) if lines else "") == question


def test_a_typed_rate_against_the_files_own_is_said_in_the_first_lines() -> None:
    differing = TimeBase(Source.TYPED, 240.0, 0.6, 0.5, (0.5,), 8.0, 0.5)
    told = replace(GOOD, time_base=differing, flags=["rates-differ"])
    assert text_of(telling.lines(told)).startswith(
        "USABLE: 27.90 ± 0.26 cm/s (10.98 ± 0.10 in/s) in the tank, k = 2, from 3 drops Taken as filmed at 240 frames a "
        "second, as typed; the file says 120 frames a second, by which the fly would sink 0.5 times as fast. free water 28.4"
    )


def test_a_stated_rate_that_the_falls_do_not_bear_out_is_said_in_the_first_lines() -> None:
    doubted = TimeBase(Source.TAGGED, 60.0, 0.75, 0.5, (0.5,), 2.0)
    told = replace(GOOD, time_base=doubted, flags=["rate-not-borne-out"])
    assert (
        "Taken as filmed at 60 frames a second and played 2 times slower, as the file says; if the clip plays in real time, "
        "every speed here is 2 times too fast. If you know the rate, give --capture-rate. free water"
    ) in text_of(telling.lines(told))
    by_hand = replace(told, time_base=replace(doubted, source=Source.TYPED))
    assert (
        "as typed; if the clip plays in real time, every speed here is 2 times too fast. free water"
        in text_of(telling.lines(by_hand))
    )


def test_a_rate_that_does_not_fit_is_refused_and_named() -> None:
    wrong = TimeBase(Source.TYPED, 240.0, 0.0001, 0.0001, (0.125,), 8.0)
    refused = replace(REFUSED, drops=[measured(0.0, 0.07, "rate-contradicted")], time_base=wrong)
    assert telling.verdict_line(refused) == (
        f"REFUSED: no sink speed. 1 drop was seen, and none can be used. {FLAGS['rate-contradicted'].meaning} It was taken "
        "to be filmed at 240 frames a second, as typed."
    )


def test_a_file_whose_tag_and_times_differ_and_a_doubted_real_time_are_said_in_the_first_lines() -> None:
    differing = TimeBase(Source.TAGGED, 120.0, 0.6, 0.5, (0.5,), 1.0, 0.5)
    told = text_of(telling.lines(replace(GOOD, time_base=differing, flags=["rates-differ"])))
    assert (
        "Taken as filmed at 120 frames a second, as its times have it; the file also says 60 frames a second, by which the "
        "fly would sink 0.5 times as fast. free water"
    ) in told
    doubted = TimeBase(Source.TYPED, 30.0, 0.5, 0.2, (2.0,))
    told = text_of(telling.lines(replace(GOOD, time_base=doubted, flags=["rate-not-borne-out"])))
    assert (
        "Taken as real time: 30 frames a second, as typed; the falls look as if the clip played at another speed. free water"
    ) in told
