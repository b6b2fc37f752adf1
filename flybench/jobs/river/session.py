"""The file of a session at the river, read and written whole."""

from __future__ import annotations

import json
from pathlib import Path

from flybench.errors import BadValueError, FlybenchError
from flybench.files import first_bytes, whole_file
from flybench.shop.river.rig_session import RigSession, session_from_table, table_of

_LARGEST = 1_000_000
"""Most bytes of a session file (judgement: thousands of reports)."""


def read_session(path: Path) -> RigSession | None:
    """Return the session in a file, None where there is no file; raises BadValueError where it is no session."""
    if not path.exists():
        return None
    try:
        content = first_bytes(path, _LARGEST + 1)
        if len(content) > _LARGEST:
            raise ValueError("larger than 1 MB")
        return session_from_table(json.loads(content))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, FlybenchError) as error:
        cure = "Name another file with --session, or delete this one to begin a new session."
        raise BadValueError(str(path), f"is not a session file ({_reason(error)})", cure) from error


def _reason(error: Exception) -> str:
    """Return in a few words what is wrong with the file."""
    if isinstance(error, KeyError):
        return f"it lacks {error}"
    return "it is not what flybench wrote" if isinstance(error, TypeError | AttributeError) else str(error)


def write_session(path: Path, session: RigSession) -> None:
    """Write a session, whole or not at all."""
    with whole_file(path) as part:
        text = json.dumps(table_of(session), indent=1, ensure_ascii=False)
        part.write_text(f"{text}\n", encoding="utf-8")
