"""The set-up of a bench run, as far as its sheet says: tank, camera and scale, the water's salt, and the evening."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import CameraSettings, ScaleSettings, Settings, TankSettings
from flybench.catalog.shelf.run_records import RunSpeed
from flybench.errors import BadValueError

SAME_WATER, SAME_SALT = 1.0, 1e-3
"""Water no farther apart than this [K], [kg/kg], counts as one; so much salt makes less than 0.1 % of the density
(judgement)."""
NO_SCALE = {"points": [[0, 0], [0, 100]], "length": "100 mm"}
"""A scale for the sheet's reader where a fly was timed by hand; nothing looks at it."""
_KEPT_SHEETS = 4096
"""Sheets whose reading is kept [-]: those of a shop's runs (judgement)."""


@dataclass(frozen=True)
class SetUp:
    """Tank, camera and scale of a run as its sheet has them, the salt [kg/kg], the picture's size, the evening, and the name
    of the set-up, "" for none; where it was timed by hand, the distance and run-up as they were given."""

    tank: TankSettings
    camera: CameraSettings
    scale: ScaleSettings
    salinity: float
    picture: tuple[Any, ...]
    day: date
    marks: tuple[Any, ...] = ()
    name: str = ""

    def differs(self, other: SetUp) -> list[str]:
        """Return the names of what differs."""
        names = {
            "tank": "tank",
            "camera": "camera",
            "scale": "scale",
            "salinity": "salt",
            "picture": "camera",
            "day": "evening",
            "marks": "distance",
            "name": "name of the set-up",
        }
        found = [word for name, word in names.items() if getattr(self, name) != getattr(other, name)]
        return list(dict.fromkeys(found))


def set_up_of(run: RunSpeed) -> SetUp | None:
    """Return a run's set-up, or None where its sheet cannot be read."""
    sheet = _read(json.dumps(readable(run.sheet), sort_keys=True))
    if sheet is None:
        return None
    timed = run.sheet.get("timed") or {}
    marks = (timed.get("distance"), timed.get("run_up")) if timed else ()
    return SetUp(
        sheet.tank, sheet.camera, sheet.scale, sheet.salinity, run.picture, run.day, marks, name=run.place
    )


def readable(sheet: Mapping[str, Any]) -> dict[str, Any]:
    """Return the sheet of a run as the sheet's reader wants it: one of a fly timed by hand has no scale."""
    if "timed" not in sheet:
        return dict(sheet)
    return {**{name: table for name, table in sheet.items() if name != "timed"}, "scale": NO_SCALE}


@lru_cache(maxsize=_KEPT_SHEETS)
def _read(text: str) -> Settings | None:
    try:
        return read_sheet(json.loads(text))
    except BadValueError:
        return None
