"""What the suite makes once and shares is what making it anew gives, and is never handed on for something else."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import looked_once
import numpy as np
import pytest
from clips import read_once, rendered, sheet_of
from made_once import once
from scenes import SMALL
from sqlalchemy import select

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.catalog.store.open import open_catalog
from flybench.catalog.tables.patterns import Pattern
from flybench.catalog.tables.vocabulary import Style


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Note every time that the frames of a clip are truly looked at for sharing."""
    noted: list[str] = []
    look = looked_once._look
    monkeypatch.setattr(
        looked_once, "_look", lambda clip, *more: noted.append(clip.name) or look(clip, *more)
    )
    return noted


@pytest.mark.slow
def test_a_clip_looked_at_once_gives_what_measuring_it_anew_gives(
    folder: Path, tmp_path: Path, looks: list[str]
) -> None:
    """Another name, another fly and other water share what was seen; all that follows from it is worked out anew."""
    path = tmp_path / "fly.mp4"
    shutil.copyfile(rendered(SMALL, folder)[0], path)
    tables = sheet_of(SMALL, {})
    first = read_once(tmp_path, open_clip(path), read_sheet(tables))
    other = open_clip(path.rename(tmp_path / "other.mp4"))
    tables["fly"] = {"mass": "0.3 g", "mass_in_water": "0.2 g"}
    tables["water"] = {"temperature": "7 degC"}
    shared = read_once(tmp_path, other, read_sheet(tables))
    assert looks == ["fly.mp4"]
    anew = measure(other, read_sheet(tables))
    assert repr(shared.result) == repr(anew.result) != repr(first.result)
    assert repr(shared.observed) == repr(anew.observed) != repr(first.observed)
    assert repr(shared.view.watch) == repr(anew.view.watch)
    assert shared.close_up is not None and anew.close_up is not None
    assert np.array_equal(shared.close_up.picture, anew.close_up.picture)


@pytest.mark.slow
def test_another_file_or_another_view_is_looked_at_anew(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "fly.mp4"
    shutil.copyfile(rendered(SMALL, folder)[0], path)
    clip = open_clip(path)
    view = read_once(folder, clip, read_sheet(sheet_of(SMALL, {}))).view
    key = looked_once._key(clip, view)
    for changed in (
        replace(view, backdrop=replace(view.backdrop, median=view.backdrop.median + np.uint8(1))),
        replace(view, steadiness=replace(view.steadiness, still=not view.steadiness.still)),
        replace(view, watch=replace(view.watch, every=view.watch.every + 1)),
    ):
        assert looked_once._key(clip, changed) != key
    with path.open("ab") as longer:
        longer.write(b"\0")
    assert looked_once._key(open_clip(path), view) != key


def test_what_failed_is_not_kept_and_what_was_made_is_made_once(tmp_path: Path) -> None:
    def fails() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        once(tmp_path, "a", fails)
    made: list[int] = []

    def makes() -> int:
        made.append(len(made))
        return made[-1]

    assert [once(tmp_path, key, makes) for key in ("a", "a", "b", "a", "b")] == [0, 0, 1, 0, 1]


def test_catalogs_share_how_they_are_asked_and_nothing_of_what_they_hold(tmp_path: Path) -> None:
    first, second = (open_catalog(str(tmp_path / f"{name}.sqlite")) for name in "ab")
    assert first.engine.dialect is second.engine.dialect
    for catalog, code in ((first, "A"), (second, "B")):
        with catalog.writing() as session:
            session.add(Pattern(code=code, name="invented", style=Style.DUBBED))
    for catalog, code in ((first, "A"), (second, "B")):
        with catalog.reading() as session:
            assert session.scalars(select(Pattern.code)).all() == [code]
