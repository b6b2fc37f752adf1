"""The rig's commands: what they print, what they refuse, and that a session can be undone."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from rig_shop import Run, in_a_shop

WATER = ("--depth", "1.0 m", "--surface-speed", "0.6 m/s", "--bed", "gravel")


FEW = ("--draws", "20", "--seconds", "4")
SHORT = ("--farthest", "2 m", "--stretch", "1 m")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to call flybench on an invented shop, in an empty folder."""
    return in_a_shop(tmp_path, monkeypatch, capsys)


@pytest.mark.slow
@pytest.mark.parametrize(
    "words",
    [
        ("drift", "--point", "30 cm/s, 2 mN", "--draws", "0"),
        ("choose", "--box-csv", "box.csv", "--droppers", "0"),
    ],
    ids=["typed fly", "listed fly"],
)
def test_flies_that_are_typed_or_listed_load_no_database(words: tuple[str, ...], tmp_path: Path) -> None:
    (tmp_path / "box.csv").write_text("name,speed,weight\nM1,30 cm/s,2 mN\n", encoding="utf-8")
    code = (
        f"import sys\nsys.argv = {['flybench', 'rig', *words, *WATER, *SHORT]}\nfrom flybench.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code\n"
        "print('sqlalchemy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout.splitlines()[-1] == "False"


@pytest.mark.slow
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


@pytest.mark.slow
def test_a_drift_is_the_same_again_and_another_seed_is_not(run: Run) -> None:
    call = ("rig", "drift", "--point", "M1", *WATER, *FEW, "--json")
    assert run(*call).out == run(*call).out
    assert run(*call).out != run(*call, "--seed", "2").out


@pytest.mark.slow
def test_measured_flies_are_taken_to_the_water_s_temperature(run: Run) -> None:
    cold, warm = (
        json.loads(
            run("rig", "drift", "--point", "A1", *WATER, "--temperature", text, "--draws", "0", "--json").out
        )
        for text in ("1 degC", "18 degC")
    )
    assert cold["flies"][0]["speed_m_s"] < 0.995 * warm["flies"][0]["speed_m_s"]
    assert warm["flies"][0]["speed_m_s"] == pytest.approx(0.20, rel=0.005)


@pytest.mark.slow
def test_depth_times_show_in_the_table_and_the_cautions_are_told(run: Run) -> None:
    said = run("rig", "drift", "--point", "M1", *WATER, *FEW)
    assert "The point comes down to the fish in" in said.out
    assert "Water: 1.00 m deep, 0.60 m/s at the surface, 10 °C, bed of gravel." in said.out
    assert "Wade with a staff and turn back when in doubt" in said.err
    assert "check your local rules" in " ".join(said.err.split())


@pytest.mark.slow
@pytest.mark.parametrize("suffix", ["png", "pdf", "svg"])
def test_side_view(run: Run, tmp_path: Path, suffix: str) -> None:
    call = ("rig", "drift", "--point", "M1", *WATER, *FEW, "--plot", f"view.{suffix}")
    said = run(*call)
    assert said.code == 0, said.err
    assert said.err.endswith(f"Wrote view.{suffix}\n")
    assert (tmp_path / f"view.{suffix}").stat().st_size > 5000
    before = (tmp_path / f"view.{suffix}").read_bytes()
    again = run(*call)
    message = f"view.{suffix}: exists already. Name another file, or add --overwrite to replace it."
    assert (again.code, again.out, again.err) == (1, "", f"Error: {message}\n")
    assert (tmp_path / f"view.{suffix}").read_bytes() == before
    assert run(*call, "--overwrite").code == 0


@pytest.mark.slow
def test_the_machine_form_stands_alone_on_standard_output(run: Run, tmp_path: Path) -> None:
    said = run("rig", "drift", "--point", "M1", *WATER, *FEW, "--plot", "view.png", "--json")
    assert json.loads(said.out)["draws"] == 20
    assert said.err == "Wrote view.png\n"


UNKNOWN = (
    "Add it with flybench fly add, give a code that flybench fly list shows, or type the fly's sink speed and weight in "
    'water, as "30 cm/s, 2.0 mN".'
)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--point", "M1", "--surface-speed", "0.6 m/s"),
            '--depth: is missing. Give the depth of the water, such as --depth "1.2 m".',
        ),
        (
            ("--point", "M1", *WATER, "--dropper-gap", "0.4 m"),
            "--dropper-gap: is given without a dropper. Name its fly with --dropper FLY, or leave it out.",
        ),
        (
            ("--point", "M1", *WATER, "--dropper-tag", "10 cm"),
            "--dropper-tag: is given without a dropper. Name its fly with --dropper FLY, or leave it out.",
        ),
        (
            ("--point", "M1", *WATER, "--entry", "steep", "--entry-angle", "30 deg"),
            '--entry-angle: "30 deg" is given beside --entry steep, which is an angle of its own. Give the one or the other.',
        ),
        (
            ("--point", "M1", *WATER, "--dropper-level", "mid"),
            "--dropper-level: is given without a dropper. Name its fly with --dropper FLY, or leave it out.",
        ),
        (("--point", "X9", *WATER), f'--point: there is no fly "X9" in the catalog. {UNKNOWN}'),
        (
            ("--point", "M1", "--dropper", "X8", *WATER),
            f'--dropper: there is no fly "X8" in the catalog. {UNKNOWN}',
        ),
        (
            ("--point", "M3", *WATER),
            "M3: this fly was never measured. Measure it with flybench bench measure CLIP --fly M3",
        ),
        (
            ("--point", "M1", *WATER, "--seconds", "900"),
            "--seconds: 900 is outside 0.5 to 60 s. Give the length of a drift in seconds, such as 8.",
        ),
        (
            ("--point", "M1", *WATER, "--draws", "-1"),
            "--draws: -1 is outside 0 to 4000. Give a number such as 200: a share is then good to about 0.03 (k = 1).",
        ),
    ],
)
def test_bad_water_and_tackle_are_refused(run: Run, arguments: tuple[str, ...], message: str) -> None:
    """The other refusals are in tests/shop/test_rig_texts.py, without the commands."""
    said = run("rig", "drift", *arguments)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.parametrize(
    "typed",
    [
        ("--with", "entry=flat", "--dropper-tag", "20 cm"),
        ("--with", "dropper-tag=20 cm"),
        ("--with", "dropper=A1", "--with", "dropper-tag=20 cm"),
    ],
)
def test_compare_refuses_what_is_typed_of_a_dropper_that_no_rig_has(run: Run, typed: tuple[str, ...]) -> None:
    said = run("rig", "compare", "--point", "M1", *WATER, *typed)
    message = "--dropper-tag: is given without a dropper. Name its fly with --dropper FLY, or leave it out."
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.slow
def test_a_tag_is_taken_where_only_the_other_rig_has_a_dropper(run: Run) -> None:
    call = (
        "rig",
        "compare",
        "--point",
        "M1",
        *WATER,
        "--dropper-tag",
        "20 cm",
        "--with",
        "dropper=A1",
        "--json",
    )
    assert [len(one["flies"]) for one in json.loads(run(*call).out)["rigs"]] == [1, 2]


@pytest.mark.slow
def test_compare_names_each_change(run: Run) -> None:
    call = ("rig", "compare", "--point", "M1", *WATER, "--entry", "flat", "--seconds", "6")
    said = run(*call, "--with", "leader-diameter=0.30 mm", "--with", "entry=steep; slack=0.8", "--json")
    told = json.loads(said.out)["rigs"]
    assert [one["change"] for one in told] == [
        "as asked",
        "leader-diameter 0.30 mm",
        "entry steep, slack 0.8",
    ]
    assert told[1]["share_in_band"] <= told[0]["share_in_band"] + 0.02
    assert told[2]["time_to_band_s"] < told[0]["time_to_band_s"]
    assert "2: point 20 cm/s, 1 mN" in run(*call, "--with", "point=20 cm/s, 1 mN").out
    assert run(*call).err == (
        "Error: --with: is missing, so there is nothing to compare. Say what to change, such as --with "
        '"leader-diameter=0.13 mm".\n'
    )
    assert run(*call, "--with", "thinner").err == (
        'Error: --with: "thinner" is not NAME=TEXT. Write it as --with "leader-diameter=0.13 mm".\n'
    )


@pytest.mark.slow
def test_choose_ranks_the_box(run: Run) -> None:
    told = json.loads(run("rig", "choose", *WATER, *SHORT, "--json").out)
    assert told["flies"] == 3
    assert told["tried"] == 9
    worth = [one["worth"] for one in told["ranked"]]
    assert worth == sorted(worth, reverse=True)
    assert told["ranked"][0]["tie"]
    single = json.loads(run("rig", "choose", *WATER, *SHORT, "--droppers", "0", "--json").out)
    assert all(len(one["flies"]) == 1 for one in single["ranked"])


@pytest.mark.slow
def test_choose_shows_why_and_tunes(run: Run) -> None:
    call = ("rig", "choose", *WATER, *SHORT)
    said = run(*call, "--why", "A1,M1", "--tune")
    assert "What A1,M1 does:" in said.out
    assert "Tuned: " in said.out
    other = (
        'Error: --why: "M9" is not in the box. Name flies of the box, the point last, with commas between.\n'
    )
    assert run(*call, "--why", "A1,M9").err == other
    single = "Error: --why: names as many flies as 1, and the leader has places for 2. Name the droppers from the top, "
    assert run(*call, "--why", "M1").err == f"{single}then the point.\n"


WEIGHS = "A fly on a rig must sink: give its weight in water, such as 2.0 mN."


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "name,speed\nlight,20 cm/s\n",
            "box.csv: lacks the column weight. Let its first line be name,speed,weight.",
        ),
        (
            "name,speed,weight\nlight,20 cm/s,1 mN\ncork,20 cm/s,-1 mN\n",
            f"box.csv, line 3: -1 mN is outside 0.02 to 100 mN. {WEIGHS}",
        ),
        ("name,speed,weight\n", "box.csv: holds no flies. Add a line for each fly."),
        (
            "name,speed,weight\nA,20 cm/s,1 mN\nB,30 cm/s,2 mN\na,40 cm/s,3 mN\n",
            'box.csv, line 4: "a" is the name of the fly in line 2 too. Give each its own name.',
        ),
    ],
)
def test_lists_that_are_no_box_are_refused(run: Run, tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "box.csv").write_text(text, encoding="utf-8")
    said = run("rig", "choose", *WATER, "--box-csv", "box.csv")
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.slow
def test_choose_from_a_list(run: Run, tmp_path: Path) -> None:
    (tmp_path / "box.csv").write_text(
        "name,speed,weight\nlight,20 cm/s +- 1 cm/s,1 mN\nheavy,45 cm/s,4 mN\n", encoding="utf-8"
    )
    told = json.loads(run("rig", "choose", *WATER, *SHORT, "--box-csv", "box.csv", "--json").out)
    assert {name for one in told["ranked"] for name in one["flies"]} == {"light", "heavy"}
    endless = run("rig", "choose", *WATER, "--box-csv", "/dev/zero")
    assert (endless.code, endless.err) == (
        1,
        "Error: /dev/zero: cannot be read (no ordinary file). Check the name.\n",
    )
    both = run("rig", "choose", *WATER, "--box-csv", "box.csv", "--box", "bead:2.8")
    assert both.code == 2
    assert both.err.endswith("Error: --box and --box-csv: give the one or the other.\n")


NO_FLY = (
    "No fly in the box is measured and has a known weight. Measure some with flybench bench measure CLIP --fly CODE, and "
    "weigh them with flybench fly weigh CODE."
)


def test_a_box_without_measured_flies_is_no_box(run: Run) -> None:
    said = run("rig", "choose", "--box", "code:M3", *WATER)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {NO_FLY}\n")


def test_a_query_that_finds_no_fly_is_named(run: Run) -> None:
    said = run("rig", "choose", "--box", "code:X9", *WATER)
    message = (
        '--box: no fly of the catalog fits "code:X9". Look what is there with flybench fly list, and how to ask with '
        "flybench fly list --help."
    )
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.slow
def test_adjust_hears_and_can_be_undone(run: Run, tmp_path: Path) -> None:
    first = run(
        "rig",
        "adjust",
        *WATER,
        "--seconds",
        "4",
        "--point",
        "A1",
        "--drifts",
        "6",
        "--touched",
        "never",
        "--json",
    )
    told = json.loads(first.out)
    assert told["reports"] == 1
    assert told["after"]["product_80_m2_s"][1] >= told["before"]["product_80_m2_s"][1] - 1e-9
    again = json.loads(run("rig", "adjust", "--point", "M2", "--drifts", "6", "--touched", "6", "--json").out)
    assert again["reports"] == 2
    session = tmp_path / "rig-session.json"
    assert len(json.loads(session.read_text(encoding="utf-8"))["reports"]) == 2
    undone = run("rig", "adjust", "--undo", "--json")
    assert json.loads(undone.out) == told
    assert run("rig", "adjust", "--undo").err == "The last report is taken back; reports before it: 0.\n"
    assert (
        run("rig", "adjust", "--undo").err
        == "Error: Nothing to undo: no drifts were reported in this session.\n"
    )


def test_water_is_given_once_in_a_session(run: Run, tmp_path: Path) -> None:
    session = tmp_path / "rig-session.json"
    table = {
        "format": "flybench-session-1",
        "water_and_tackle": {"depth": "1 m", "surface_speed": "0.6 m/s"},
        "seconds": 4.0,
        "reports": [],
    }
    session.write_text(json.dumps(table), encoding="utf-8")
    said = run("rig", "adjust", "--point", "A1", "--touched", "never", "--d84", "5 cm")
    message = (
        "rig-session.json: holds the water of this session already, so --d84 cannot be given again. Leave it out; at a new "
        "run, name another --session."
    )
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")
    assert json.loads(session.read_text(encoding="utf-8")) == table


@pytest.mark.slow
def test_never_touching_asks_for_a_deeper_fly_and_always_for_a_shallower(run: Run) -> None:
    """Common practice, no source: never is too shallow, every time is too deep."""
    deep = ("--depth", "1.6 m", "--surface-speed", "0.7 m/s", "--bed", "gravel", "--seconds", "4")
    never = run(
        "rig", "adjust", *deep, "--point", "A1", "--touched", "never", "--session", "a.json", "--json"
    )
    assert json.loads(never.out)["next"]["steps"] > 0
    shallow = ("--depth", "0.5 m", "--surface-speed", "0.4 m/s", "--bed", "gravel", "--seconds", "4")
    always = run(
        "rig", "adjust", *shallow, "--point", "M1", "--touched", "every-time", "--session", "b.json", "--json"
    )
    assert json.loads(always.out)["next"]["steps"] < 0


@pytest.mark.slow
def test_takes_on_the_dropper_are_told_with_their_sample(run: Run) -> None:
    said = run(
        "rig",
        "adjust",
        *WATER,
        "--seconds",
        "4",
        "--point",
        "M2",
        "--dropper",
        "M1",
        "--touched",
        "1",
        "--dropper-takes",
        "3",
    )
    text = " ".join(said.out.split())
    assert (
        "Takes: 3 on the dropper, 0 on the point. The dropper is taken more often, with a probability of 94 %."
        in text
    )
    assert "3 takes may be mere chance." in text
    assert "Of the dropper's pattern, M" in text


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (("--point", "A1"), 2, "Say what happened: --point FLY --drifts 6 --touched never (or --undo)."),
        (
            ("--point", "A1", "--touched", "often", *WATER, "--seconds", "4"),
            1,
            '--touched: "often" does not say how many drifts touched the bottom. Give a number, or one of never, '
            "sometimes, every-time.",
        ),
        (
            ("--point", "A1", "--drifts", "3", "--touched", "4", *WATER, "--seconds", "4"),
            1,
            "--touched: 4 of 3 drifts cannot have touched. Count each drift once, however often it touched.",
        ),
        (
            ("--point", "A1", "--drifts", "1", "--touched", "sometimes", *WATER, "--seconds", "4"),
            1,
            "--touched: one drift alone cannot touch sometimes. Give --drifts, 2 or more.",
        ),
        (
            ("--point", "A1", "--touched", "never", "--seconds", "4"),
            1,
            '--depth: is missing. Give the depth of the water, such as --depth "1.2 m".',
        ),
        (
            ("--point", "A1", "--touched", "never", *WATER),
            1,
            "--seconds: is missing: how often flies touch depends on how long they drift. Count the seconds from where the "
            "flies land to where you lift them off, such as --seconds 6.",
        ),
        (
            ("--point", "A1", "--touched", "never", *WATER, "--seconds", "70"),
            1,
            "--seconds: 70 is outside 0.5 to 60 s. Give the length of a drift in seconds, such as 8.",
        ),
        (
            ("--undo", "--slack", "0.5"),
            2,
            "--undo takes the last report back: give it without a new report, water or tackle.",
        ),
        (("--undo",), 1, "Nothing to undo: no drifts were reported in this session."),
    ],
)
def test_adjust_refuses_and_keeps_nothing(
    run: Run, tmp_path: Path, arguments: tuple[str, ...], code: int, message: str
) -> None:
    said = run("rig", "adjust", *arguments)
    assert said.code == code
    assert said.out == ""
    assert said.err.splitlines()[-1] == f"Error: {message}"
    assert not (tmp_path / "rig-session.json").exists()


@pytest.mark.slow
def test_flies_of_a_list_and_typed_ones_are_adjusted_and_tackle_typed_later_is_used(
    run: Run, tmp_path: Path
) -> None:
    (tmp_path / "box.csv").write_text(
        "name,speed,weight\nlight,20 cm/s,1 mN\nheavy,45 cm/s,4 mN\n", encoding="utf-8"
    )
    call = ("rig", "adjust", "--box-csv", "box.csv", "--touched", "never", "--json")
    first = json.loads(run(*call, *WATER, "--seconds", "3", "--point", "Light").out)
    assert [one["point"] for one in first["looked_at"]] == ["light", "heavy"]
    said = run(*call, "--point", "30 cm/s, 2 mN", "--slack", "0.1", "--seconds", "2")
    assert said.code == 0, said.err
    again = json.loads(said.out)
    assert [one["point"] for one in again["looked_at"]] == ["light", "30 cm/s, 2 mN", "heavy"]
    kept = json.loads((tmp_path / "rig-session.json").read_text(encoding="utf-8"))
    assert (kept["reports"][1]["changes"], kept["reports"][1]["seconds"]) == ({"slack": "0.1"}, 2.0)
    other = run(*call, "--point", "none")
    message = '--point: there is no fly "none" in box.csv. Give a name of that file, or type the fly as "30 cm/s, 2.0 mN".'
    assert (other.code, other.err) == (1, f"Error: {message}\n")
    assert len(json.loads((tmp_path / "rig-session.json").read_text(encoding="utf-8"))["reports"]) == 2


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("{}", 'its format is not "flybench-session-2"'),
        ('{"format": "flybench-session-2"}', "it lacks 'water_and_tackle'"),
        ("[1]", "it is not what flybench wrote"),
        ("", "Expecting value: line 1 column 1 (char 0)"),
    ],
)
def test_a_session_that_is_none_is_left_alone(run: Run, tmp_path: Path, text: str, reason: str) -> None:
    path = tmp_path / "rig-session.json"
    path.write_text(text, encoding="utf-8")
    said = run("rig", "adjust", "--point", "A1", "--touched", "never")
    cure = "Name another file with --session, or delete this one to begin a new session."
    assert said.code == 1
    assert said.err == f"Error: rig-session.json: is not a session file ({reason}). {cure}\n"
    assert path.read_text(encoding="utf-8") == text
