"""Errors of the database in plain words, with what the user can do."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from json import JSONDecodeError

from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, OperationalError, StatementError

from flybench.catalog.store.engine import PATIENCE_S
from flybench.errors import FlybenchError

_IN_USE = (
    f"other programs kept the catalog busy for more than {PATIENCE_S} s; nothing was changed. "
    "Close them and try again"
)
_FULL = "the disk is full; nothing was changed. Free some space and try again"
_DAMAGED = "is damaged. Put a backup back with: flybench catalog restore FILE"
_GARBLED = re.compile(
    "enum values|isoformat|parse (?:date|datetime) string|month must be|day is out of range|hour must be|minute must be|"
    "second must be|year .*out of range|could not convert|ConversionSyntax"
)
"""What is said of values that no program could have written: texts where a word, a date or a number must be."""
_OF_FILES = (
    ("disk is full", _FULL),
    (
        "readonly|read-only",
        "cannot be written to; nothing was changed. Give write permission to the file and its folder, "
        "or name another with --catalog",
    ),
    ("unable to open", "cannot be opened. Check the name and the permissions of the file and its folder"),
    ("locked|busy", _IN_USE),
    (
        "not a database",
        "is not a flybench catalog. Name another file with --catalog, "
        "or put a backup back with: flybench catalog restore FILE",
    ),
    (
        "malformed|decode to UTF-8|user-defined function|wrong # of entries|corrupt|no such (?:table|column)|has no column",
        _DAMAGED,
    ),
    (
        "disk I/O",
        "the disk reports an error; nothing was changed. Check the disk and its room, and try again",
    ),
)
_OF_SERVERS = (
    ("No space left|could not extend", f"on the server {_FULL}"),
    ("lock timeout|deadlock", _IN_USE),
    (
        "permission denied|read-only",
        "the server does not allow this user to do that; nothing was changed. "
        "Ask its administrator for the rights to read and write",
    ),
)
_NO_SERVER = (
    "the server refuses the connection: {}. "
    "Check that it runs, and the host, database, user and password in the address"
)
_RULES = (
    (
        r"UNIQUE constraint failed: (.+)|duplicate key value .* \"(.+)\"",
        "there is a row with this {} already",
    ),
    (
        "FOREIGN KEY|foreign key",
        "a row is still used by another row, or refers to one that is not there",
    ),
    (r"NOT NULL constraint failed: (.+)|null value in column \"(.+?)\"", "{} is missing"),
    (r"CHECK constraint failed: (.+)|check constraint \"(.+)\"", "a value is outside its limits ({})"),
)


@contextmanager
def in_plain_words(name: str) -> Iterator[None]:
    """Turn what the database refuses into a message; programming errors are left as they are."""
    try:
        yield
    except (IntegrityError, DataError) as error:
        raise FlybenchError(_broken_rule(error)) from error
    except DBAPIError as error:
        message = _known(error)
        if message is None:
            raise
        raise FlybenchError(f"{name}: {message}.") from error
    except StatementError as error:
        if isinstance(error.orig, FlybenchError):  # of a column's type
            raise error.orig from error
        raise
    except (UnicodeDecodeError, JSONDecodeError) as error:  # sqlite3 puts texts of the file into its messages
        raise FlybenchError(f"{name}: {_DAMAGED}.") from error
    except (ValueError, LookupError, ArithmeticError, TypeError) as error:
        if _GARBLED.search(str(error)) is None:
            raise
        raise FlybenchError(f"{name}: {_DAMAGED}.") from error


def _known(error: DBAPIError) -> str | None:
    """Return the message of an error that the user can do something about, None for any other."""
    reason = str(error.orig)
    server = not type(error.orig).__module__.startswith("sqlite3")
    for pattern, message in _OF_SERVERS if server else _OF_FILES:
        if re.search(pattern, reason, re.IGNORECASE):
            return message
    if server and isinstance(error, OperationalError):
        return _NO_SERVER.format(" ".join(reason.split()).rstrip("."))
    return None


def _broken_rule(error: DBAPIError) -> str:
    """Return which rule of the tables was broken; values are checked before, so this is seldom seen."""
    reason = str(error.orig).splitlines()[0]
    for pattern, message in _RULES:
        found = re.search(pattern, reason)
        if found:
            what = next((group for group in found.groups() if group), "")
            return f"the catalog cannot keep this: {message.format(what)}. Nothing was changed. Check the values given."
    return f"the catalog cannot keep this: {reason}. Nothing was changed. Check the values given."
