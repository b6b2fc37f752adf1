"""`flybench bench plan`: the verdict first, what was assumed, what stops it, and what is refused."""

from __future__ import annotations

import json

import pytest
from console import flybench

from flybench.bench.plan.asked import read_goal
from flybench.bench.plan.search import plan
from flybench.telling.bench.plan_limits import warnings_about


def planned(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    """Return what `flybench bench plan` prints; it must end with 0 and stay within 80 columns."""
    said = flybench(capsys, "bench", "plan", *arguments)
    assert (said.code, said.err) == (0, "")
    lines = said.out.splitlines()
    assert max(map(len, lines)) <= 80
    return lines


def in_one(lines: list[str]) -> str:
    """Return lines as one text with single blanks."""
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize(
    ("speed", "tank", "free"),
    [("15 cm/s", "1.9", "2.7"), ("30 cm/s", "1.9", "2.7"), ("50 cm/s", "2.0", "2.8")],
)
def test_command_gives_the_verdict_first(
    capsys: pytest.CaptureFixture[str], speed: str, tank: str, free: str
) -> None:
    lines = planned(capsys, "--speed", speed)
    assert lines[0].startswith(f"Yes: ±2 % of the speed in the tank can be reached; expect {speed[:2]}.")
    starts = ("column", "tank width", "frame rate", "camera distance", "card to fly", "drops")
    assert all(sum(line.startswith(start) for line in lines) == 1 for start in starts)
    assert any(line.startswith(f"  in the tank    ±{tank} %: drop-to-drop spread") for line in lines)
    assert any(line.startswith(f"  in free water  ±{free} %: the same, and walls") for line in lines)
    assert not any(line.startswith(("Note:", "What stops it:")) for line in lines)


@pytest.mark.slow
def test_command_says_what_was_assumed(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(capsys, "--speed", "30 cm/s")
    start = next(number for number, line in enumerate(lines) if line.startswith("Assumed"))
    assert in_one(lines[start:]) == (
        "Assumed, as it was not given: water of 18 °C (--temperature), a fly 6 mm wide (--fly-width), a fly 2.5 times "
        "as dense as water (--density-ratio), drops that differ by 1.5 % (--spread) and a distance from card to fly "
        "known to ±6 mm (--gap-uncertainty)."
    )
    given = ("--temperature", "12 degC", "--response-time", "60 ms", "--spread", "1 %")
    lines = planned(capsys, "--speed", "30 cm/s", *given, "--gap-uncertainty", "2 mm")
    assert lines[-1] == "Assumed, as it was not given: a fly 6 mm wide (--fly-width)."
    lines = planned(capsys, "--speed", "30 cm/s", *given, "--gap-uncertainty", "2 mm", "--fly-width", "5 mm")
    assert lines[-1].startswith("  in free water")


@pytest.mark.slow
def test_command_says_what_is_best_and_what_stops_it(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(capsys, "--speed", "30 cm/s", "--precision", "0.1 %")
    assert in_one(lines[: lines.index("")]) == (
        "No: ±0.1 % of the speed in the tank cannot be reached; the best possible here is ±1.3 %, k = 2. "
        "What stops it: "
        "- Drops differ by 1.5 %, and the mean of 12, the most that is advised, is only so good: ±1.2 %. "
        "- The distance from card to fly is known to ±6 mm, seen from 770 mm (from farther away, a square of the card "
        "would be under 24 pixels wide in 1080p): ±0.50 %. "
        "- A ruler reads the card's bar, 100 mm, to ±0.3 mm: ±0.30 %."
    )


@pytest.mark.slow
def test_free_water_may_be_stopped_by_the_walls(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(
        capsys, "--speed", "30 cm/s", "--free-water", "--tank-width", "180 mm", "--fly-width", "7 mm"
    )
    assert lines[0].startswith("No: ±2 % of the speed in free water cannot be reached; the best possible")
    assert "- The published wall formulas differ, even in a tank 180 mm wide: ±2." in in_one(lines)


def test_command_judges_the_users_own_sizes(capsys: pytest.CaptureFixture[str]) -> None:
    own = ("--column", "120 mm", "--frame-rate", "30 Hz", "--distance", "200 mm", "--tank-width", "140 mm")
    text = in_one(planned(capsys, "--speed", "80 cm/s", *own))
    assert text.startswith(
        "No: ±2 % of the speed in the tank cannot be reached. What stops it: "
        "- Let go at rest, the fly has 95 % of its speed only after 152 mm, and 120 mm of its fall can be seen. "
        "- The card is 160 mm wide and does not fit into a tank of 140 mm. column 120 mm "
    )
    assert (
        "Note: The fly smears over 13 mm, more than half its width. Use a faster frame rate. "
        "Note: No frame will show the fly settled, and 20 are wanted. Use a taller column. "
        "Note: The card's strips are 240 mm tall. Cover what stands out of the water. Assumed"
    ) in text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("own", "words"),
    [
        (
            ("--column", "50 mm", "--frame-rate", "10 Hz"),
            "- 50 mm of fall at 10 Hz give too few frames to fit.",
        ),
        (
            ("--distance", "2 m"),
            "- A square of the card is 10 pixels wide in 1080p, and it needs 24.",
        ),
        (
            ("--distance", "50 mm", "--tank-width", "180 mm"),
            "- Where the card stands, the picture takes in 94 mm x 167 mm, and the card is 160 mm x 240 mm.",
        ),
        (
            ("--tank-width", "50 mm", "--fly-width", "15 mm"),
            "in free water unknown: the fly is too wide for so narrow a tank.",
        ),
        (
            ("--column", "1 m", "--distance", "400 mm"),
            "Note: The picture takes in 633 mm of the column of 1000 mm, and only that counts.",
        ),
        (
            ("--tank-width", "180 mm", "--fly-width", "15 mm"),
            "Note: The fly is wider than a fifteenth of the tank, and the measurement will carry the flag narrow-tank. "
            "A tank 225 mm wide would do.",
        ),
    ],
)
def test_extreme_sizes_are_named(
    capsys: pytest.CaptureFixture[str], own: tuple[str, ...], words: str
) -> None:
    text = in_one(planned(capsys, "--speed", "30 cm/s", *own))
    assert words in text
    assert not {"inf", "nan"} & set(text.replace("±", " ").split())
    said = flybench(capsys, "bench", "plan", "--speed", "30 cm/s", *own, "--json")
    assert json.loads(said.out)["advice"]


@pytest.mark.slow
def test_json_alone_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "plan", "--speed", "30 cm/s", "--json")
    assert (said.code, said.err) == (0, "")
    assert json.loads(said.out)["met"] is True


SPEED = "Give about the speed that you expect: flies sink at 5 to 100 cm/s."


PRECISION = "Give the ± that you want, as a share of the speed; 2 % is usual."


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--speed", "0 cm/s"), f"--speed: 0 cm/s is outside 1 to 300 cm/s. {SPEED}"),
        (("--speed", "20 m/s"), f"--speed: 20 m/s is outside 0.01 to 3 m/s. {SPEED}"),
        (("--speed", "200 in/s"), f"--speed: 200 in/s is outside 0.3938 to 118.1 in/s. {SPEED}"),
        (
            ("--speed", "20 m/s", "--response-time", "60 ms"),
            f"--speed: 20 m/s is outside 0.01 to 3 m/s. {SPEED}",
        ),
        (
            ("--speed", "30"),
            '--speed: "30" has no unit. Write it with its unit, for example "30 cm/s".',
        ),
        (
            ("--speed", "30 cm"),
            '--speed: "30 cm" is not a speed. Write it with its unit, for example "30 cm/s".',
        ),
        (
            ("--speed", "30,5 cm/s"),
            '--speed: "30,5 cm/s" has a comma. Write "30.5 cm/s", with a decimal point.',
        ),
        (("--precision", "0 %"), f"--precision: 0 % is outside 0.01 to 20 %. {PRECISION}"),
        (("--precision", "-1 %"), f"--precision: -1 % is outside 0.01 to 20 %. {PRECISION}"),
        (
            ("--precision", "2"),
            '--precision: 2 without a unit is 200 %, outside 0.01 to 20 %. Write "2 %" if you mean per cent.',
        ),
        (
            ("--spread", "15"),
            '--spread: 15 without a unit is 1500 %, outside 0 to 20 %. Write "15 %" if you mean per cent.',
        ),
        (
            ("--density-ratio", "0.9"),
            "--density-ratio: 0.9 is outside 1.05 to 20. Give 2.5 for a small brass bead, up to 8 for a big tungsten "
            "bead.",
        ),
        (
            ("--response-time", "5 s"),
            "--response-time: 5 s is outside 0.001 to 1 s. Leave it out, or give --density-ratio in its place.",
        ),
        (
            ("--fly-width", "1 m"),
            "--fly-width: 1 m is outside 0.0005 to 0.03 m. Give the widest side of the fly across its fall, hackle "
            "included.",
        ),
        (
            ("--temperature", "80 degC"),
            "--temperature: 80 degC is outside 0 to 40 degC. Give the temperature that the water in the tank will have.",
        ),
        (("--temperature", "18 C"), '--temperature: "18 C" has the unknown unit "C". Write "18 degC".'),
        (
            ("--frame-rate", "1 Hz"),
            "--frame-rate: 1 Hz is outside 10 to 1000 Hz. Give the rate that your camera films at, or leave it out.",
        ),
        (
            ("--column", "5 mm"),
            "--column: 5 mm is outside 50 to 3000 mm. Give the height of water that the camera sees, or leave it out.",
        ),
        (
            ("--distance", "9 m"),
            "--distance: 9 m is outside 0.05 to 5 m. Give the distance from lens to tank front, or leave it out.",
        ),
        (
            ("--tank-width", "9 m"),
            "--tank-width: 9 m is outside 0.05 to 5 m. Give the inner width of the tank, or leave it out.",
        ),
        (
            ("--spread", "50 %"),
            "--spread: 50 % is outside 0 to 20 %. Give the standard deviation from drop to drop as a share of the "
            "speed.",
        ),
        (
            ("--gap-uncertainty", "90 mm"),
            "--gap-uncertainty: 90 mm is outside 0 to 40 mm. Give the ± of the distance from card to fly (k = 2); 6 mm "
            "is usual.",
        ),
    ],
)
def test_nonsense_ends_with_1_and_names_the_option(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    speed = () if "--speed" in arguments else ("--speed", "30 cm/s")
    said = flybench(capsys, "bench", "plan", *speed, *arguments)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--speed", "30 cm/s", "--density-ratio", "2", "--response-time", "60 ms"),
        ("--speed", "30 cm/s", "--colum", "2 m"),
    ],
)
def test_wrong_usage_ends_with_2(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]) -> None:
    said = flybench(capsys, "bench", "plan", *arguments)
    assert (said.code, said.out) == (2, "")


def test_a_faster_camera_is_advised_only_where_one_helps() -> None:
    """20 frames of a settled fly at 240 a second and 50 cm/s take 42 mm."""
    few = plan(read_goal({"speed": "50 cm/s", "column": "200 mm", "frame_rate": "60 Hz"}))
    assert 0.042 < few.seen - few.approach < 0.167
    assert any(line.endswith("Use a taller column or a faster frame rate.") for line in warnings_about(few))
    short = plan(read_goal({"speed": "50 cm/s", "column": "110 mm", "frame_rate": "60 Hz"}))
    assert short.seen - short.approach < 0.042
    assert any(line.endswith("are wanted. Use a taller column.") for line in warnings_about(short))
