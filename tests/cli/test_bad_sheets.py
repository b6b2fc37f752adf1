"""Sheets and values that are wrong.

Each is refused in a clear message that says what, which value, which limit and what to do; the exit code is 1, and
nothing is written.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from console import flybench
from refusals import CARD, only_inputs, refused

Capture = pytest.CaptureFixture[str]


SHEETS = {
    'water.temprature = "18 degC"': "water.temprature: is not a key of the bench sheet. Did you mean water.temperature?",
    'pond.depth = "1 m"': "pond.depth: is not a key of the bench sheet. Did you mean tank.depth?",
    'tank.width = "200 kg"': 'tank.width: "200 kg" is not a length. Write it with its unit, for example "200 mm".',
    "tank.width = 200": 'tank.width: 200 has no unit. Write it with its unit, for example "200 mm".',
    'water.temperature = "64 degC"': "water.temperature: 64 degC is outside 0 to 40 degC. Give the temperature of "
    'the water in the tank, for example "18 degC".',
    'tank.diameter = "190 mm"': "tank.diameter: is given together with tank.width or tank.depth. Give the "
    "diameter of a round column, or width and depth of a square tank.",
    'tank.fall_plane = "300 mm"': "tank.fall_plane: 300 mm lies outside the tank, which is 140 mm deep. Measure "
    "from the inside of the front wall to where the fly falls.",
    'camera.capture_rate = "20 Hz"': "camera.capture_rate: 20 Hz is below the clip's own 60 frames a second. Give the "
    "rate at which the camera filmed, or leave it out.",
    'tank.wall_material = "jelly"': "tank.wall_material: 'jelly' is not known. Use one of acrylic, borosilicate, "
    "glass, polycarbonate, polystyrene, or give the wall's refractive index as tank.wall_index.",
    'tank.wall_material = ["glass"]': "tank.wall_material: ['glass'] is not known. Use one of acrylic, borosilicate, "
    "glass, polycarbonate, polystyrene, or give the wall's refractive index as tank.wall_index.",
    'tank.wall_material = "glass"\ntank.wall_index = 1.5': "tank.wall_material: is given together with "
    "tank.wall_index. Keep one of them: a wall has one refractive index.",
    "tank.wall_index = 3": "tank.wall_index: 3 is not a refractive index that a wall can have. Give a number from "
    "1.3 to 1.9.",
    'tank.wall_index = "1.49"': "tank.wall_index: '1.49' is not a refractive index that a wall can have. Give a number from "
    "1.3 to 1.9, without quotes.",
    'tank.width = "20 mm"': "tank.width: 20 mm is less than the card takes that stands in the tank: its corners lie over "
    "130 mm. Measure the inside of the tank across the view again, and look for a slip of the decimal point or the unit.",
    'scale.gap = "200 mm"': "scale.gap: 200 mm puts the scale outside the tank. The gap is positive when the fly "
    "falls nearer to the camera than the scale stands.",
    'scale.length = "200 mm"': "scale.length: is given together with a card. It is the distance between two "
    "points; what a ruler says of the card's bar is scale.bar.",
    'fly.volume = "-3 mm**3"': "fly.volume: -3 mm**3 is outside 0.01 to 10000 mm**3. Give the volume of the soaked "
    'fly, for example "22 mm**3".',
    'water.temperature = "1e999 degC"': 'water.temperature: "1e999 degC" is not a finite number. Write it with its '
    'unit, for example "18 degC".',
    'water.temperature = "2**99999999 K"': 'water.temperature: "2**99999999 K" is not a temperature. Write it with its '
    'unit, for example "18 degC".',
    "fly.code = 5": 'fly.code: 5 is not text. Write it in quotes, for example code = "reed-14".',
    'scale.card = "behind"': "scale.card: 'behind' is not known. Stand the card in the tank and write card = "
    '"in water".',
    "scale.points = [[1, 2], [3, 400]]": "scale: is given both as a card and as points. Keep one of them: a clip "
    "has one scale.",
    'fly.mass = "0.1 g"\nfly.mass_in_water = "0.2 g"': "fly.mass_in_water: 0.2 g is not less than fly.mass, 0.1 g. "
    "A fly weighs less under water than in air; were the two swapped?",
    'fly.mass = "0.02 g"\nfly.volume = "30 mm**3"': "fly.volume: a fly of 30 mm3 displaces 0.03 g of water and "
    "weighs 0.02 g, so it would float. Weigh the soaked fly hanging in water and give fly.mass_in_water instead.",
    'scale.bar = "3 m"': "scale.bar: 3 m is outside 0.05 to 0.15 m. Give the length of the card's 100 mm bar, measured "
    'with a ruler, for example "99.6 mm".',
}


@pytest.mark.parametrize("wrong", SHEETS)
def test_wrong_sheet(wrong: str, clip: Path, capsys: Capture) -> None:
    tables: dict[str, dict[str, str]] = {
        "water": {"temperature": '"18 degC"'},
        "tank": {"width": '"200 mm"', "depth": '"140 mm"'},
        "scale": {"card": '"in water"', "bar": '"100 mm"'},
        "camera": {"distance": '"500 mm"'},
    }
    for line in wrong.split("\n"):
        name, value = line.split(" = ", 1)
        table, key = name.split(".")
        tables.setdefault(table, {})[key] = value
    lines = [
        f"[{table}]\n" + "".join(f"{k} = {v}\n" for k, v in keys.items()) for table, keys in tables.items()
    ]
    clip.with_suffix(".toml").write_text("\n".join(lines), encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    refused(said, SHEETS[wrong])
    assert only_inputs(clip.parent)


def test_missing_temperature(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text('[scale]\ncard = "in water"\n', encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        "water.temperature: is missing; the temperature of the water is always needed. "
        'Write for example temperature = "18 degC" under [water] in the sheet, or give it as an option.',
    )


def test_no_sheet_and_no_options(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").unlink()
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        f"{clip}: there is no sheet beside it (drop.toml) and no options were given. "
        f"Write one with: flybench bench sheet {clip}",
    )


def test_no_scale(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text('[water]\ntemperature = "18 degC"\n', encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        "scale: is missing, so that nobody knows how large a pixel is. Print the card (flybench bench card), stand it "
        'in the tank and write card = "in water" under [scale]; or give points and length.',
    )


def test_broken_toml(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text("[water\ntemperature = 18", encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        f"{clip.with_suffix('.toml')}: cannot be read as a sheet: Expected ']' at the end of a table declaration "
        "(at line 1, column 7). Correct that line.",
    )


@pytest.mark.parametrize(
    ("text", "why"),
    [  # what stands between is the standard library's, and differs between its versions
        ("a = " + "[" * 5000, r"cannot be read as a sheet: [^\n]+\. Correct that line\."),
        ("a = " + "9" * 5000, r"cannot be read as a sheet: [^\n]+\. Correct that line\."),
        ("#" * 200_000, r"is longer than any sheet \(100 kB at most\)\. Give the \.toml file\."),
    ],
)
def test_sheets_that_break_readers(text: str, why: str, clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text(text, encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    assert (said.code, said.out) == (1, "")
    assert re.fullmatch(f"Error: {re.escape(str(clip.with_suffix('.toml')))}: {why}\n", said.err)


def test_a_mark_of_byte_order_does_no_harm(clip: Path, capsys: Capture) -> None:
    """RFC 3629, section 6: U+FEFF at the beginning is a signature, not a part of the text."""
    clip.with_suffix(".toml").write_text("water = 18\n", encoding="utf-8")
    plain = flybench(capsys, "bench", "measure", clip)
    clip.with_suffix(".toml").write_text("water = 18\n", encoding="utf-8-sig")
    marked = flybench(capsys, "bench", "measure", clip)
    assert (marked.code, marked.out, marked.err) == (plain.code, plain.out, plain.err)
    assert plain.code == 1


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1"])
def test_a_sheet_in_another_encoding_says_how_to_save_it(encoding: str, clip: Path, capsys: Capture) -> None:
    sheet = clip.with_suffix(".toml")
    sheet.write_text('[fly]\ncode = "Grün"\n', encoding=encoding)
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        f"{sheet}: is not saved as UTF-8 text. Open it in your editor, choose to save it under a name, and take UTF-8.",
    )


def test_sheet_that_is_a_folder_or_missing(clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--sheet", clip.parent)
    refused(said, f"{clip.parent}: cannot be read (Is a directory). Check the name.")
    other = clip.with_name("other.toml")
    said = flybench(capsys, "bench", "measure", clip, "--sheet", other)
    refused(said, f"{other}: cannot be read (No such file or directory). Check the name.")


def test_value_outside_any_table_with_an_option_for_it(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text("water = 18\n", encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip, *CARD)
    refused(
        said, "water: stands outside any table. Write it under [water], [tank], [camera], [scale] or [fly]."
    )


def test_gap_without_distance(clip: Path, capsys: Capture) -> None:
    text = '[water]\ntemperature = "18 degC"\n[tank]\ndepth = "140 mm"\n[scale]\ncard = "in water"\ngap = "12 mm"\n'
    clip.with_suffix(".toml").write_text(text, encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        "camera.distance: is missing; without it, the gap between scale and fly cannot be corrected for. "
        'Write for example distance = "620 mm" under [camera] in the sheet, or give it as an option.',
    )


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (
            "10,10 10,5000",
            "--points: [10, 5000] lies outside the picture, which is 540 x 960 px upright. Read the pixels off the "
            "upright first frame; x runs right and y down from the top left corner.",
        ),
        (
            "10,10 10,10",
            "--points: lie 0 px apart. Give two different points at least 20 px apart, better a whole picture's "
            "height.",
        ),
        (
            "10,10 nan,900",
            "--points: [[10.0, 10.0], [nan, 900.0]] holds a number that is not finite. Give pixels of the upright "
            "first frame.",
        ),
        (
            "10,10",
            '--points: "10,10" is not two points. Write for example --points "120,80 120,1500".',
        ),
        ("a,b c,d", '--points: "a,b c,d" is not two points. Write for example --points "120,80 120,1500".'),
        (
            "1,2 3,4 5,6",
            '--points: "1,2 3,4 5,6" is not two points. Write for example --points "120,80 120,1500".',
        ),
    ],
)
def test_wrong_points(points: str, message: str, clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").unlink()
    said = flybench(
        capsys, "bench", "measure", clip, "--temperature", "18 degC", "--points", points, "--length", "250 mm"
    )
    refused(said, message)


def test_a_drop_left_out_by_an_option_is_told_as_the_option_has_it(clip: Path, capsys: Capture) -> None:
    refused(
        flybench(capsys, "bench", "measure", clip, "--without", "1", ""),
        '--without: says nothing about why drop 1 does not count. Write for example --without 1 "hit the wall", with the '
        "number of the drop as flybench bench measure lists it.",
    )
