"""Slips of typing in a sheet's file, told in plain words with the line."""

from __future__ import annotations

from pathlib import Path

import pytest

from flybench.errors import FlybenchError
from flybench.jobs.bench.measure import tables_for
from flybench.jobs.bench.sheet_file import read_sheet_file

CURLY = "line 2 has curly quotes, as programs for letters put in. Write them straight: "
SLIPS = {
    "[water]\ntemperature = “18 degC”\n": f'{CURLY}temperature = "18 degC"',
    "[water]\ntemperature = ‘18 degC’ # tap\n": f'{CURLY}temperature = "18 degC" # tap',
    '[tank]\nwidth = "210 mm"\n\nwidth = "200 mm"\n': "line 4 gives width a second time under [tank]. Keep one of the two "
    "lines.",
    '[tank]\nwidth = "210 mm"\n[water]\n[tank]\nwall = "4 mm"\n': "line 4 begins [tank] a second time. Put what follows "
    "under the first [tank].",
}


@pytest.mark.parametrize("text", SLIPS)
def test_slips(text: str, tmp_path: Path) -> None:
    sheet = tmp_path / "drop.toml"
    sheet.write_text(text, encoding="utf-8")
    with pytest.raises(FlybenchError) as refused:
        read_sheet_file(sheet)
    assert str(refused.value) == f"{sheet}: {SLIPS[text]}"


def test_the_same_key_in_two_tables_and_curly_quotes_in_a_remark_do_no_harm(tmp_path: Path) -> None:
    sheet = tmp_path / "drop.toml"
    sheet.write_text('[tank]\nwidth = "210 mm" # “inner”\n[water]\nwidth = "1 mm"\n', encoding="utf-8")
    assert read_sheet_file(sheet) == {"tank": {"width": "210 mm"}, "water": {"width": "1 mm"}}


def test_a_sheet_in_place_of_its_clip_is_told(tmp_path: Path) -> None:
    sheet = tmp_path / "drop.toml"
    sheet.write_text("", encoding="utf-8")
    with pytest.raises(FlybenchError) as refused:
        tables_for(sheet, None, {})
    assert (
        str(refused.value)
        == f"{sheet}: is a sheet and no clip. Give the clip, and the sheet as --sheet {sheet}."
    )
