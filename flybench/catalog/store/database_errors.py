"""Errors of the database, told as the user can mend them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, OperationalError, StatementError

from flybench.catalog.store.engine import PATIENCE_S
from flybench.errors import FlybenchError

_IN_USE = (
    f"was in use by others for more than {PATIENCE_S} s; nothing was changed. "
    "Close what uses it and try again"
)
_FULL = "the disk is full; nothing was changed. Free some space and try again"
_OF_FILES = (
    ("disk is full", _FULL),
    (
        "readonly|read-only",
        "may not be written to; nothing was changed. Give write permission to the file and its folder, "
        "or name another with --catalog",
    ),
    ("unable to open", "cannot be opened. Check the name and the permissions of the file and its folder"),
    ("locked|busy", _IN_USE),
    (
        "not a database",
        "is no catalog of flybench. Name another file with --catalog, "
        "or restore a backup with: flybench catalog restore",
    ),
    ("malformed", "is damaged. Restore a backup with: flybench catalog restore"),
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
        "the server does not allow it; nothing was changed. Ask for the rights to read and write its tables",
    ),
)
_NO_SERVER = "the server does not let us in: {}. Check that it runs, and the host, name, user and password in the address"
_RULES = (
    (r"UNIQUE constraint failed: (.+)|duplicate key value .* \"(.+)\"", "{}: is there already"),
    (
        "FOREIGN KEY|foreign key",
        "a row is still used by another, or refers to one that is not there",
    ),
    (r"NOT NULL constraint failed: (.+)|null value in column \"(.+?)\"", "{}: is missing"),
    (r"CHECK constraint failed: (.+)|check constraint \"(.+)\"", "{}: a value is outside its limits"),
)


@contextmanager
def told(name: str) -> Iterator[None]:
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


def _known(error: DBAPIError) -> str | None:
    """Return what to tell of an error that the user can mend, None for any other."""
    reason = str(error.orig)
    server = not type(error.orig).__module__.startswith("sqlite3")
    for pattern, message in _OF_SERVERS if server else _OF_FILES:
        if re.search(pattern, reason, re.IGNORECASE):
            return message
    if server and isinstance(error, OperationalError):
        return _NO_SERVER.format(" ".join(reason.split()).rstrip("."))
    return None


def _broken_rule(error: DBAPIError) -> str:
    """Return which rule of the tables was broken; the jobs check before, this is the last line."""
    reason = str(error.orig).splitlines()[0]
    for pattern, message in _RULES:
        found = re.search(pattern, reason)
        if found:
            what = next((group for group in found.groups() if group), "")
            return f"the catalog refuses it: {message.format(what)}. Nothing was changed. Check the values given."
    return f"the catalog refuses it: {reason}. Nothing was changed. Check the values given."
