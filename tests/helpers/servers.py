"""A PostgreSQL server for tests: the one that the environment names, or one of our own for the time of the tests."""

from __future__ import annotations

import os
import secrets
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

VARIABLE = "FLYBENCH_TEST_POSTGRES"
SCRIPT = Path(__file__).resolve().parents[2] / ".ci" / "postgres"


@contextmanager
def running_server() -> Iterator[str]:
    """Give the address of a server; skip the test, saying why, where there is none and none can be started."""
    if os.environ.get(VARIABLE):
        yield os.environ[VARIABLE]
        return
    if _script("find").returncode != 0:
        pytest.skip(f"{VARIABLE} is not set and no PostgreSQL server is installed")
    with tempfile.TemporaryDirectory(dir="/tmp", prefix="flybench-") as made:  # a socket's path must be short
        Path(made).chmod(0o711)  # the server runs as another user where the tests run as root
        started = _script("start", f"{made}/pg")
        if started.returncode != 0:
            pytest.skip(f"{VARIABLE} is not set and a server does not start here: {started.stderr[-300:]}")
        try:
            yield started.stdout.strip()
        finally:
            _script("stop", f"{made}/pg")


@contextmanager
def fresh_database(server: str) -> Iterator[str]:
    """Give the address of a new empty database, dropped in the end."""
    name = f"flybench_{secrets.token_hex(6)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")
    try:
        yield _other(server, name)
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


def _other(server: str, name: str) -> str:
    """Return the address of another database on the same server."""
    address, _, query = server.partition("?")
    return f"{address.rpartition('/')[0]}/{name}{'?' if query else ''}{query}"


def _script(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = ["bash", str(SCRIPT), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
