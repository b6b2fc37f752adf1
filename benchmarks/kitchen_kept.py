"""Results of the kitchen table: kept one a line as they come, and summed up by area."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True)
class Row:
    """One case with one seed, judged."""

    area: str
    name: str
    seed: int
    outcome: str
    card: bool
    """Whether the card was in the tank."""
    said: str
    scores: list[float]
    """Each used drop's error over its standard uncertainty [-]."""
    errors: list[float]
    """Each used drop's relative error [-]."""
    expanded: list[float]
    """Each used drop's relative expanded uncertainty (k = 2) [-]."""
    faults: list[str]

    def __str__(self) -> str:
        """Return the row as a line."""
        mark = "WRONG" if self.faults else "ok"
        worst = max(map(abs, self.scores), default=0.0)
        return (
            f"{mark:5} {self.area}/{self.name} #{self.seed} [{self.outcome}] {self.said[:110]} "
            f"worst score {worst:.1f} {'; '.join(self.faults)}"
        )


class Kept:
    """Rows by case and seed, each with the state of the code that it was tried with; the last one counts."""

    def __init__(self, path: Path | None, code: str, any_code: bool) -> None:
        """Read what was kept; rows of another state of the code count only with ``any_code``."""
        self.path, self.code = path, code
        self._rows: dict[tuple[str, str, int], tuple[str, Row]] = {}
        lines = path.read_text(encoding="utf-8").splitlines() if path is not None and path.exists() else []
        for line in lines:
            told = json.loads(line)
            tried_with = told.pop("code")
            if any_code or tried_with == code:
                self._take(tried_with, Row(**told))

    def _take(self, code: str, row: Row) -> None:
        self._rows[row.area, row.name, row.seed] = code, row

    @property
    def rows(self) -> list[Row]:
        """Return the last row of each case and seed."""
        return [row for _, row in self._rows.values()]

    def needs(self, area: str, name: str, seed: int, again: bool) -> bool:
        """Tell whether a case is still to be tried; ``again``: if it was wrong in another state of the code too."""
        if (area, name, seed) not in self._rows:
            return True
        code, row = self._rows[area, name, seed]
        return again and bool(row.faults) and code != self.code

    def add(self, row: Row) -> None:
        """Take a new row, and write it to the end of the file at once."""
        self._take(self.code, row)
        if self.path is not None:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"code": self.code, **asdict(row)}) + "\n")


def table(rows: list[Row]) -> str:
    """Return the shares that are wanted, by area and in all, as a table; and every row with a fault."""
    areas = sorted({one.area for one in rows})
    lines = [
        "",
        "| area | clips | used drops inside k = 2 | worst score | clean, of them faulty | wrong, of them passed "
        "| median U / rms error, clean with card |",
        "|---|---|---|---|---|---|---|",
        *(_line(area, [one for one in rows if one.area == area]) for area in areas),
        _line("all", rows),
        "",
        *(str(one) for one in rows if one.faults),
    ]
    return "\n".join(lines)


def _line(name: str, rows: list[Row]) -> str:
    used = np.array([score for one in rows if one.outcome in {"clean", "measured"} for score in one.scores])
    clean = [one for one in rows if one.outcome == "clean"]
    wrong = [one for one in rows if one.outcome not in {"clean", "measured"}]
    held = f"{np.mean(np.abs(used) <= 2):.1%} of {len(used)}" if len(used) else "none used"
    worst = f"{np.abs(used).max():.1f}" if len(used) else ""
    return (
        f"| {name} | {len(rows)} | {held} | {worst} | {len(clean)}, {sum(bool(one.faults) for one in clean)} "
        f"| {len(wrong)}, {sum(bool(one.faults) for one in wrong)} | {_precision(clean)} |"
    )


def _precision(clean: list[Row]) -> str:
    """Return the median expanded uncertainty over the root mean square error, of clean clips with a card."""
    errors = np.array([error for one in clean if one.card for error in one.errors])
    expanded = np.array([error for one in clean if one.card for error in one.expanded])
    if not len(errors):
        return ""
    rms = float(np.sqrt(np.mean(errors**2)))
    return f"{np.median(expanded):.2%} / {rms:.2%} = {np.median(expanded) / rms:.1f}"
