"""A session at one stretch of the river: what was typed and what was reported since; to and from plain tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from flybench.errors import BadValueError, FlybenchError
from flybench.rig.advice.takes import Takes
from flybench.rig.advice.touches import HowOften, Touches
from flybench.shop.river.rig_texts import RigTexts

FORMAT, OLDER = "flybench-session-2", "flybench-session-1"
"""What a session file says it is, and what it said when all drifts of a session were as long and on the same tackle."""
HOW_OFTEN = {"never": HowOften.NEVER, "sometimes": HowOften.SOMETIMES, "every-time": HowOften.ALWAYS}
"""Words for how often the point touched the bottom, as they are typed."""


@dataclass(frozen=True)
class ReportedDrifts:
    """Some drifts with one rig: how many, how many touched (a number or a word of HOW_OFTEN), fish that took, how long each
    drift lasted [s], None for as long as those before, and what changed of tackle or goal before them, by option."""

    point: str
    dropper: str | None
    drifts: int
    touched: str
    dropper_takes: int = 0
    point_takes: int = 0
    seconds: float | None = None
    changes: Mapping[str, str] = field(default_factory=dict)

    @property
    def touches(self) -> Touches:
        """Return the touches for the model; raises BadValueError where they cannot be."""
        if self.touched in HOW_OFTEN:
            if self.touched == "sometimes" and self.drifts < 2:
                raise BadValueError(
                    "--touched", "one drift alone cannot touch sometimes", "Give --drifts, 2 or more."
                )
            return Touches(self.drifts, HOW_OFTEN[self.touched])
        if not self.touched.isascii() or not self.touched.isdigit():
            problem = f'"{self.touched}" does not say how many drifts touched the bottom'
            raise BadValueError("--touched", problem, f"Give a number, or one of {', '.join(HOW_OFTEN)}.")
        if int(self.touched) > self.drifts:
            problem = f"{self.touched} of {self.drifts} drifts cannot have touched"
            raise BadValueError("--touched", problem, "Count each drift once, however often it touched.")
        return Touches(self.drifts, int(self.touched))


@dataclass(frozen=True)
class RigSession:
    """Water, tackle and goal as typed at first, length of the first drifts [s], and what was reported, in order."""

    texts: RigTexts
    seconds: float
    reports: tuple[ReportedDrifts, ...] = field(default=())

    def rigs(self) -> list[tuple[ReportedDrifts, RigTexts, float]]:
        """Return every report with water, tackle and goal as they were then, and how long a drift lasted [s]."""
        texts, seconds, found = self.texts, self.seconds, []
        for one in self.reports:
            texts = texts.changed(one.changes)
            seconds = seconds if one.seconds is None else one.seconds
            found.append((one, texts, seconds))
        return found

    def with_report(self, one: ReportedDrifts) -> RigSession:
        """Return the session with one more report."""
        return replace(self, reports=(*self.reports, one))

    def undone(self) -> RigSession:
        """Return the session without its last report; raises FlybenchError where there is none."""
        if not self.reports:
            raise FlybenchError("Nothing to undo: no drifts were reported in this session.")
        return replace(self, reports=self.reports[:-1])

    @property
    def takes(self) -> Takes:
        """All takes of the session."""
        return Takes(
            sum(one.dropper_takes for one in self.reports), sum(one.point_takes for one in self.reports)
        )


def session_from_table(table: Mapping[str, Any]) -> RigSession:
    """Return the session of a table as ``table_of`` makes it; raises ValueError, KeyError or TypeError for another."""
    if table.get("format") not in (FORMAT, OLDER):
        raise ValueError(f'its format is not "{FORMAT}"')
    texts = dict(table["water_and_tackle"])
    texts["float_times"] = tuple(texts.get("float_times", ()))
    reports = tuple(ReportedDrifts(**one) for one in table["reports"])
    for one in reports:
        one.touches  # noqa: B018 - refuses counts that cannot be
    return RigSession(RigTexts(**texts), float(table["seconds"]), reports)


def table_of(session: RigSession) -> dict[str, Any]:
    """Return a session as a plain table, for a file."""
    return {
        "format": FORMAT,
        "water_and_tackle": asdict(session.texts),
        "seconds": session.seconds,
        "reports": [asdict(one) for one in session.reports],
    }
