"""Errors of the database, told as the user can mend them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DatabaseError, DBAPIError, IntegrityError, OperationalError

from flybench.catalog.engine import PATIENCE_S
from flybench.errors import FlybenchError

_KNOWN = (
    (
        "disk is full|No space left|disk full",
        "the disk is full; nothing was changed. Free some space and try again",
    ),
    (
        "readonly|read-only",
        "may not be written to; nothing was changed. Give write permission to the file and its folder, "
        "or name another with --catalog",
    ),
    (
        "unable to open|Permission denied",
        "cannot be opened. Check the name and the permissions of the file and its folder",
    ),
    (
        "locked|lock timeout|busy",
        f"was in use by others for more than {PATIENCE_S} s; nothing was changed. Close what uses it and try again",
    ),
    (
        "not a database|malformed|disk image",
        "is damaged or no catalog. Restore a backup with: flybench catalog restore",
    ),
    (
        "connection|connect|could not translate|server closed|timeout expired|does not exist|authentication",
        "the server does not let us in. Check that it runs, and the name, user and password in the address",
    ),
    ("disk I/O|I/O error", "the disk reports an error; nothing was changed. Check the disk and try again"),
)


@contextmanager
def told(name: str) -> Iterator[None]:
    """Turn what the database refuses into a message; programming errors are left as they are."""
    try:
        yield
    except IntegrityError as error:
        raise FlybenchError(_broken_rule(error)) from error
    except DBAPIError as error:
        raise _known(name, error) from error


def _known(name: str, error: DBAPIError) -> Exception:
    reason = str(error.orig)
    if not isinstance(error, (OperationalError, DatabaseError)):
        return error
    for pattern, message in _KNOWN:
        if re.search(pattern, reason, re.IGNORECASE):
            return FlybenchError(f"{name}: {message}.")
    return error


def _broken_rule(error: IntegrityError) -> str:
    """Return which rule of the tables was broken; the jobs check before, this is the last line."""
    reason = str(error.orig).splitlines()[0]
    return f"the catalog refuses it: {reason}. Nothing was changed. Check the values given."
