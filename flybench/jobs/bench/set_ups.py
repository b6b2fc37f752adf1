"""Set-ups by name: tank, camera and scale of a place at home, kept once and used for every clip filmed there."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from platformdirs import user_data_dir

from flybench.errors import BadValueError, FlybenchError
from flybench.files import check_new, first_bytes, whole_file
from flybench.jobs.bench.sheet import checked_as_far_as_given, written

Tables = Mapping[str, Mapping[str, Any]]

VARIABLE = "FLYBENCH_SET_UPS"
"""Variable of the environment that names another folder for set-ups."""
KEPT = ("tank", "camera", "scale")
"""Tables of the sheet that belong to a place; the water, the fly and its drops change from evening to evening."""
NOT_KEPT = ("camera.capture_rate", "scale.points", "scale.picture", "scale.length")
"""Keys in them that belong to a single clip."""
_LONGEST = 100_000
"""Longest file that is read as a set-up [bytes]: a hundred times a full one (judgement)."""
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_INSTEAD = {"scale": ("card", "points", "picture", "bar", "length"), "tank": ("width", "depth", "diameter")}
"""Keys of a table that go together: where the sheet has one of them, none of them is taken from the set-up."""


def folder() -> Path:
    """Return where set-ups are kept."""
    return Path(os.environ.get(VARIABLE) or Path(user_data_dir("flybench", appauthor=False)) / "set-ups")


def save_set_up(name: str, tables: Tables, overwrite: bool = False) -> Path:
    """Keep what belongs to a place under a name; return the file.

    Raises BadValueError for a name that cannot be one or values that cannot be, FlybenchError for a name that is taken.
    """
    path = _path(name, "--save")
    kept = _kept(tables)
    if not kept:
        raise FlybenchError(
            f'--save {name}: there is nothing to keep. Give what stays the same there, such as --card --tank-width "200 mm".'
        )
    checked_as_far_as_given(kept)
    path.parent.mkdir(parents=True, exist_ok=True)
    check_new(path, overwrite)
    with whole_file(path) as part:
        part.write_text(written(kept), encoding="utf-8")
    return path


def not_kept(tables: Tables) -> list[str]:
    """Return which keys of the tables that are kept are left out, as they belong to a single clip."""
    split = [key.split(".") for key in NOT_KEPT]
    return [f"{table}.{name}" for table, name in split if name in tables.get(table, {})]


def read_set_up(name: str) -> dict[str, dict[str, Any]]:
    """Return the tables of a set-up; raises FlybenchError where there is none of that name or it cannot be read."""
    path = _path(name, "--set-up")
    if not path.exists():
        known = names()
        there = f"There are: {', '.join(known)}" if known else "There is none yet"
        raise FlybenchError(
            f"--set-up {name}: there is no set-up of that name. {there}. Keep one with: flybench bench sheet --save {name}"
        )
    try:
        content = first_bytes(path, _LONGEST)
        tables: dict[str, dict[str, Any]] = tomllib.loads(content.decode("utf-8"))
    except OSError as error:
        raise FlybenchError(
            f"{path}: cannot be read as a set-up ({error.strerror}). Keep it again with --save."
        ) from error
    except ValueError as error:
        raise FlybenchError(
            f"{path}: cannot be read as a set-up: {error}. Keep it again with --save."
        ) from error
    return tables


def names() -> list[str]:
    """Return the names of all set-ups."""
    return sorted(path.stem for path in folder().glob("*.toml"))


def over_set_up(name: str | None, tables: Tables) -> dict[str, Any]:
    """Return a sheet's tables with what it does not say taken from a set-up; without a name just the tables."""
    if name is None:
        return dict(tables)
    merged: dict[str, Any] = {}
    lower = read_set_up(name)
    for table in dict.fromkeys([*lower, *tables]):
        upper = tables.get(table, {})
        if not isinstance(upper, Mapping):  # the sheet is wrong, and is told so by its reader
            merged[table] = upper
            continue
        together = _INSTEAD.get(table, ())
        hidden = together if any(key in upper for key in together if key != "bar") else ()
        merged[table] = {
            key: value for key, value in lower.get(table, {}).items() if key not in hidden
        } | dict(upper)
    return merged


def _path(name: str, option: str) -> Path:
    if not _NAME.fullmatch(name):
        raise BadValueError(
            option,
            f'"{name}" cannot be the name of a set-up',
            "Use small letters, digits and hyphens, 40 at most, for example kitchen",
        )
    return folder() / f"{name}.toml"


def _kept(tables: Tables) -> dict[str, dict[str, Any]]:
    kept = {table: dict(tables[table]) for table in KEPT if table in tables}
    for key in NOT_KEPT:
        table, name = key.split(".")
        kept.get(table, {}).pop(name, None)
    return {table: keys for table, keys in kept.items() if keys}
