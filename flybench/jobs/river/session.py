"""A session at one run of the river, kept in a small file: water and tackle as told, and what happened since."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from flybench.errors import BadValueError, FlybenchError
from flybench.files import first_bytes, whole_file
from flybench.jobs.river.asked import Asked
from flybench.rig.odds.feedback import Said, Touches

FORMAT = "flybench-session-1"
_LARGEST = 1_000_000
_WORDS = {"never": Said.NEVER, "sometimes": Said.SOMETIMES, "every-time": Said.ALWAYS}


@dataclass(frozen=True)
class Happened:
    """What happened with one rig: drifts, touches (a number or never, sometimes, every-time), takes."""

    point: str
    dropper: str | None
    drifts: int
    touched: str
    dropper_takes: int = 0
    point_takes: int = 0

    @property
    def touches(self) -> Touches:
        """Return the touches for the update; raises BadValueError where they cannot be."""
        if self.touched in _WORDS:
            return Touches(self.drifts, _WORDS[self.touched])
        if not self.touched.isascii() or not self.touched.isdigit():
            cure = f"Give a number of drifts, or one of {', '.join(_WORDS)}."
            raise BadValueError("touched", f'"{self.touched}" is no number of touches', cure)
        return Touches(self.drifts, int(self.touched))


@dataclass(frozen=True)
class Session:
    """Water and tackle as told, length of a drift [s], and what happened, in order."""

    asked: Asked
    seconds: float
    happened: tuple[Happened, ...] = field(default=())

    def after(self, one: Happened) -> Session:
        """Return the session with one more thing that happened."""
        return replace(self, happened=(*self.happened, one))

    def undone(self) -> Session:
        """Return the session without the last thing that happened; raises FlybenchError where there is none."""
        if not self.happened:
            raise FlybenchError("Nothing to undo: nothing was told in this session yet.")
        return replace(self, happened=self.happened[:-1])


def read_session(path: Path) -> Session | None:
    """Return the session in a file, None where there is no file; raises BadValueError where it is no session."""
    if not path.exists():
        return None
    try:
        content = first_bytes(path, _LARGEST + 1)
        if len(content) > _LARGEST:
            raise ValueError("larger than 1 MB")
        told = json.loads(content)
        return _session(told)
    except (OSError, ValueError, KeyError, TypeError) as error:
        cure = "Name another file with --session, or delete this one to begin anew."
        raise BadValueError(str(path), f"is not a session file ({error})", cure) from error


def _session(told: Mapping[str, Any]) -> Session:
    if told.get("format") != FORMAT:
        raise ValueError(f'its format is not "{FORMAT}"')
    asked = dict(told["asked"])
    asked["float_times"] = tuple(asked.get("float_times", ()))
    happened = tuple(Happened(**one) for one in told["happened"])
    for one in happened:
        one.touches  # noqa: B018 - refuses counts that cannot be
    return Session(Asked(**asked), float(told["seconds"]), happened)


def write_session(path: Path, session: Session) -> None:
    """Write a session, whole or not at all."""
    told = {
        "format": FORMAT,
        "asked": asdict(session.asked),
        "seconds": session.seconds,
        "happened": [asdict(one) for one in session.happened],
    }
    with whole_file(path) as part:
        part.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
