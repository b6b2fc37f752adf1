"""The rig's commands: what they print, what they refuse, and that a session can be undone."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import shop_with_speeds

Run = Callable[..., Said]
WATER = ("--depth", "1.0 m", "--surface-speed", "0.6 m/s", "--bed", "gravel")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to call flybench on an invented catalog with three measured flies, in an empty folder."""
    path = tmp_path / "catalog.sqlite"
    shop_with_speeds(path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))

    def call(*arguments: str | Path) -> Said:
        return flybench(capsys, *arguments)

    return call


def test_drift_as_machine_form(run: Run) -> None:
    said = run("rig", "drift", "--point", "45 cm/s, 4 mN", "--dropper", "20 cm/s, 1 mN", *WATER, "--json")
    told = json.loads(said.out)
    assert [fly["role"] for fly in told["flies"]] == ["dropper", "point"]
    assert told["flies"][1]["weight_n"] == pytest.approx(4e-3)
    lengths = {len(told["time_s"]), *(len(fly["depth_m"]) for fly in told["flies"])}
    assert len(lengths) == 1
    assert max(told["flies"][1]["depth_m"]) <= 1.0
    assert 0 <= told["share_in_band"] <= 1
    assert told["time_to_band_s"] < 8


def test_a_drift_is_the_same_again_and_another_seed_is_not(run: Run) -> None:
    call = ("rig", "drift", "--point", "M1", *WATER, "--json")
    assert run(*call).out == run(*call).out
    assert run(*call).out != run(*call, "--seed", "2").out


def test_measured_flies_are_taken_to_the_water_s_temperature(run: Run) -> None:
    cold, warm = (
        json.loads(
            run("rig", "drift", "--point", "A1", *WATER, "--temperature", text, "--draws", "0", "--json").out
        )
        for text in ("1 degC", "18 degC")
    )
    assert cold["flies"][0]["speed_m_s"] < 0.995 * warm["flies"][0]["speed_m_s"]
    assert warm["flies"][0]["speed_m_s"] == pytest.approx(0.20, rel=0.005)


def test_depth_times_show_in_the_table_and_the_cautions_are_told(run: Run) -> None:
    said = run("rig", "drift", "--point", "M1", *WATER)
    assert "The point comes down to it in" in said.out
    assert "Wade with a staff" in said.err
    assert "regulated on many waters: check your local rules" in said.err


@pytest.mark.parametrize("suffix", ["png", "pdf", "svg"])
def test_side_view(run: Run, tmp_path: Path, suffix: str) -> None:
    said = run("rig", "drift", "--point", "M1", *WATER, "--draws", "20", "--plot", f"view.{suffix}")
    assert said.code == 0, said.err
    assert (tmp_path / f"view.{suffix}").stat().st_size > 5000


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--point", "M1", "--surface-speed", "0.6 m/s"), 'depth: is missing. Give it, such as "1.2 m".'),
        (("--point", "M1", "--depth", "0 m", "--surface-speed", "0.6 m/s"), "depth: 0 is outside 0.1 to 6 m"),
        (
            ("--point", "M1", "--depth", "1 m", "--surface-speed", "9 m/s"),
            "surface speed: 9 is outside 0.02 to 3",
        ),
        (("--point", "M1", "--depth", "1 m"), "surface-speed: is missing. Give --surface-speed"),
        (("--point", "-3 cm/s, 2 mN", *WATER), "fly point: sinks at -0.03 m/s: it floats"),
        (("--point", "30 cm/s, -2 mN", *WATER), "fly point: weighs -0.002 N in water: it floats"),
        (("--point", "30 cm/s, 2", *WATER), 'point weight: "2" has no unit'),
        (("--point", "X9", *WATER), 'point: there is no fly "X9"'),
        (("--point", "M3", *WATER), "fly M3: was never measured"),
        (("--point", "M1", *WATER, "--leader-diameter", "1.2"), "leader-diameter"),
        (("--point", "M1", *WATER, "--leader-diameter", "1.2 in"), "leader-diameter"),
        (
            ("--point", "M1", "--dropper", "M2", *WATER, "--dropper-gap", "3 m"),
            "dropper: 3 m above the point",
        ),
        (("--point", "M1", *WATER, "--hold", "led"), "lead speed: is missing for a led line"),
        (
            ("--point", "M1", *WATER, "--band", "2 m"),
            "band: 2 m is not between the surface and the stones' tops",
        ),
        (("--point", "M1", *WATER, "--d84", "5 cm"), "d84: is given beside bed"),
        (
            ("--point", "M1", "--depth", "0.3 m", "--surface-speed", "0.5 m/s", "--bed", "boulder"),
            "bed: stones of 0.35 m",
        ),
        (("--point", "M1", *WATER, "--seconds", "900"), "seconds: 900 is outside 0.5 to 60 s"),
        (("--point", "M1", *WATER, "--temperature", "90 degC"), "temperature"),
    ],
)
def test_bad_water_and_tackle_are_refused(run: Run, arguments: tuple[str, ...], message: str) -> None:
    said = run("rig", "drift", *arguments)
    assert said.code == 1
    assert said.out == ""
    assert message in said.err
    assert "Traceback" not in said.err


def test_compare_names_each_change(run: Run) -> None:
    call = ("rig", "compare", "--point", "M1", *WATER, "--entry", "flat")
    said = run(*call, "--with", "leader-diameter=0.30 mm", "--with", "entry=steep; slack=0.8", "--json")
    told = json.loads(said.out)["rigs"]
    assert [one["change"] for one in told] == [
        "as asked",
        "leader-diameter 0.30 mm",
        "entry steep, slack 0.8",
    ]
    assert told[1]["share_in_band"] <= told[0]["share_in_band"] + 0.02
    assert told[2]["time_to_band_s"] < told[0]["time_to_band_s"]
    assert "as asked" in run(*call, "--with", "point=20 cm/s, 1 mN").out
    refused = run(*call, "--with", "colour=red")
    assert refused.code == 1
    assert 'with: there is no "colour" to change. Name one of depth' in refused.err


def test_choose_ranks_the_box(run: Run) -> None:
    told = json.loads(run("rig", "choose", *WATER, "--json").out)
    assert told["flies"] == 3
    assert told["tried"] == 9
    worth = [one["utility"] for one in told["ranked"]]
    assert worth == sorted(worth, reverse=True)
    assert told["ranked"][0]["tie"]
    single = json.loads(run("rig", "choose", *WATER, "--droppers", "0", "--json").out)
    assert all(len(one["flies"]) == 1 for one in single["ranked"])


def test_choose_shows_why_and_tunes(run: Run) -> None:
    said = run("rig", "choose", *WATER, "--why", "A1,M1", "--tune")
    assert "Why A1,M1:" in said.out
    assert "Tuned: " in said.out
    assert run("rig", "choose", *WATER, "--why", "A1,M9").err.startswith(
        'Error: why: "M9" is not in the box.'
    )


def test_choose_from_a_list(run: Run, tmp_path: Path) -> None:
    (tmp_path / "box.csv").write_text(
        "name,speed,weight\nlight,20 cm/s +- 1 cm/s,1 mN\nheavy,45 cm/s,4 mN\n", encoding="utf-8"
    )
    told = json.loads(run("rig", "choose", *WATER, "--box-csv", "box.csv", "--json").out)
    assert {name for one in told["ranked"] for name in one["flies"]} == {"light", "heavy"}
    (tmp_path / "bad.csv").write_text("name,speed\nlight,20 cm/s\n", encoding="utf-8")
    assert "bad.csv: lacks the column weight" in run("rig", "choose", *WATER, "--box-csv", "bad.csv").err
    endless = run("rig", "choose", *WATER, "--box-csv", "/dev/zero")
    assert (endless.code, endless.err) == (
        1,
        "Error: /dev/zero: cannot be read (no ordinary file). Check the name.\n",
    )
    (tmp_path / "floats.csv").write_text("name,speed,weight\ncork,20 cm/s,-1 mN\n", encoding="utf-8")
    assert (
        "fly cork: weighs -0.001 N in water: it floats"
        in run("rig", "choose", *WATER, "--box-csv", "floats.csv").err
    )


def test_a_box_without_measured_flies_is_no_box(run: Run) -> None:
    said = run("rig", "choose", "--box", "code:M3", *WATER)
    assert said.code == 1
    assert said.err.startswith("Error: No measured fly with a known weight in the box.")


def test_adjust_hears_and_can_be_undone(run: Run, tmp_path: Path) -> None:
    first = run("rig", "adjust", *WATER, "--point", "A1", "--drifts", "6", "--touched", "never", "--json")
    told = json.loads(first.out)
    assert told["told"] == 1
    assert told["after"]["product_80_m2_s"][1] >= told["before"]["product_80_m2_s"][1] - 1e-9
    again = json.loads(run("rig", "adjust", "--point", "M2", "--drifts", "6", "--touched", "6", "--json").out)
    assert again["told"] == 2
    session = tmp_path / "rig-session.json"
    assert len(json.loads(session.read_text(encoding="utf-8"))["happened"]) == 2
    undone = run("rig", "adjust", "--undo", "--json")
    assert json.loads(undone.out) == told
    assert run("rig", "adjust", "--undo").code == 0
    assert run("rig", "adjust", "--undo").err.endswith(
        "Nothing to undo: nothing was told in this session yet.\n"
    )


def test_never_touching_asks_for_a_deeper_fly_and_always_for_a_shallower(run: Run) -> None:
    """Common practice, no source: never is too shallow, every time is too deep."""
    deep = ("--depth", "1.6 m", "--surface-speed", "0.7 m/s", "--bed", "gravel")
    never = run(
        "rig", "adjust", *deep, "--point", "A1", "--touched", "never", "--session", "a.json", "--json"
    )
    assert json.loads(never.out)["next"]["steps"] > 0
    shallow = ("--depth", "0.5 m", "--surface-speed", "0.4 m/s", "--bed", "gravel")
    always = run(
        "rig", "adjust", *shallow, "--point", "M1", "--touched", "every-time", "--session", "b.json", "--json"
    )
    assert json.loads(always.out)["next"]["steps"] < 0


def test_takes_on_the_dropper_are_told_with_their_sample(run: Run) -> None:
    said = run(
        "rig", "adjust", *WATER, "--point", "M2", "--dropper", "M1", "--touched", "1", "--dropper-takes", "3"
    )
    assert "Takes: 3 on the dropper, 0 on the point. The dropper is taken more" in said.out
    assert "A small sample (3 takes)" in said.out
    assert "The dropper's pattern for the point: M" in said.out


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (("--point", "A1"), 2, "Say what happened"),
        (("--point", "A1", "--touched", "often", *WATER), 1, 'touched: "often" is no number of touches'),
        (
            ("--point", "A1", "--drifts", "3", "--touched", "4", *WATER),
            1,
            "touched: 4 touches in 3 drifts cannot be",
        ),
        (("--undo",), 1, "Nothing to undo"),
    ],
)
def test_adjust_refuses_and_keeps_nothing(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], code: int, message: str
) -> None:
    said = run("rig", "adjust", *arguments)
    assert said.code == code
    assert message in said.err
    assert not (tmp_path / "rig-session.json").exists()


def test_a_session_that_is_none_is_left_alone(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "rig-session.json"
    path.write_text("{}", encoding="utf-8")
    said = run("rig", "adjust", "--point", "A1", "--touched", "never")
    assert said.code == 1
    assert "is not a session file" in said.err
    assert path.read_text(encoding="utf-8") == "{}"


def test_flags_are_explained(run: Run) -> None:
    said = run("rig", "flags")
    assert "shallow-rough\n" in said.out
