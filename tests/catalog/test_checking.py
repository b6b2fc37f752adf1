"""`catalog check`: each kind of fault, put in behind the program's back, is found and named; a sound one is not."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from shelves import filled

from flybench.catalog.shelf.check import Finding, check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.schema import REVISION

OTHER = "da39a3ee5e6b" + "0" * 52
FAULTS = [
    (
        "DELETE FROM pattern",
        {
            Finding("orphan", "step 1", "pattern_id is 1, but there is no such pattern"),
            Finding("orphan", "step 2", "pattern_id is 1, but there is no such pattern"),
            Finding("orphan", "photo 1", "pattern_id is 1, but there is no such pattern"),
            Finding("orphan", "variant 1", "pattern_id is 1, but there is no such pattern"),
            Finding("orphan", "variant 2", "pattern_id is 1, but there is no such pattern"),
        },
    ),
    (
        "DELETE FROM step WHERE position = 1",
        {Finding("orphan", "variant moss-test-12-bare", "changes step 1, which its pattern does not have")},
    ),
    (
        f"UPDATE photo SET sha256 = '{OTHER}'",
        {Finding("orphan", "photo 1", f"sha256 is {OTHER}, but there is no such picture")},
    ),
    (
        "UPDATE picture SET content = x'00ff'",
        {
            Finding(
                "hash",
                "photo front.jpg of pattern moss-test",
                "was changed: its SHA-256 is 06eb7d6a69ee…, but was {photo}… when it came in",
            )
        },
    ),
    (
        "DELETE FROM photo; UPDATE picture SET content = x'00ff'",
        {
            Finding(
                "hash",
                "picture {photo}…, which no photo shows",
                "was changed: its SHA-256 is 06eb7d6a69ee…, but was {photo}… when it came in",
            )
        },
    ),
    (
        "INSERT INTO setting VALUES ('counted', '1'); UPDATE fly_speed SET side = x'00'; DELETE FROM counted_run",
        {Finding("speed", "fly f-1", "its sink speed is that of 1 of its runs, but 0 are kept for pooling")},
    ),
    (
        f"UPDATE bench_run SET track_sha256 = '{OTHER}'",
        {
            Finding(
                "hash",
                "track of run 1 of fly f-1",
                "was changed: its SHA-256 is {track}…, but was da39a3ee5e6b… when it came in",
            )
        },
    ),
    (
        "UPDATE bench_run SET accepted = 0, set_aside_why = 'bubbles'",
        {Finding("speed", "fly f-1", "its sink speed is that of 1 of its runs, but 0 are accepted")},
    ),
    (
        "DELETE FROM fly_speed",
        {
            Finding("speed", "fly f-1", "its sink speed is that of 0 of its runs, but 1 are accepted"),
            Finding("speed", "variant moss-test-12", "has a sink speed, but none of its flies has"),
        },
    ),
    (
        "DELETE FROM variant_speed",
        {Finding("speed", "variant moss-test-12", "has no sink speed, but one of its flies has")},
    ),
    (
        "INSERT INTO material_movement VALUES (9, 3, '2030-02-01', -5.5, 'used', '', NULL, NULL, NULL)",
        {Finding("stock", "material wool", "has -0.5 in stock: more went than came")},
    ),
    (
        "INSERT INTO fly_movement VALUES (9, 1, '2030-02-01', -8, 'sold', '', NULL, NULL, NULL, NULL)",
        {Finding("stock", "variant moss-test-12", "has -2 in stock: more went than came")},
    ),
    (
        "UPDATE variant SET based_on_id = 2 WHERE id = 1",
        {
            Finding(
                "cycle",
                "variant moss-test-12",
                "is based on itself: moss-test-12 -> moss-test-12-bare -> moss-test-12",
            )
        },
    ),
    (
        "INSERT INTO flybench_revision VALUES ('0000')",
        {
            Finding(
                "revision",
                "flybench_revision",
                f"holds 0000, {REVISION} where this program writes {REVISION}",
            )
        },
    ),
    ("DROP TABLE setting", {Finding("tables", "setting", "the table is missing")}),
    ("ALTER TABLE hook DROP COLUMN shank_m", {Finding("tables", "hook.shank_m", "the column is missing")}),
]


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return filled(tmp_path / "catalog.sqlite")


def _behind_its_back(catalog: Catalog, statement: str) -> None:
    with closing(sqlite3.connect(str(catalog.path))) as file:
        if statement.startswith("ALTER"):
            file.execute("PRAGMA ignore_check_constraints=ON")
            file.execute("PRAGMA writable_schema=ON")
            file.execute(
                "UPDATE sqlite_master SET sql = replace(sql, 'shank_m', 'shank_x') WHERE name = 'hook'"
            )
        else:
            file.executescript(statement)
        file.commit()


def test_a_sound_catalog_has_no_findings(catalog: Catalog) -> None:
    assert check(catalog) == []


def test_a_new_catalog_has_no_findings(tmp_path: Path) -> None:
    assert check(open_catalog(str(tmp_path / "new.sqlite"))) == []


@pytest.mark.slow
@pytest.mark.parametrize(("statement", "expected"), FAULTS, ids=[one[0][:40] for one in FAULTS])
def test_a_fault_is_found(catalog: Catalog, statement: str, expected: set[Finding]) -> None:
    hashes = {}
    with closing(sqlite3.connect(str(catalog.path))) as file:
        hashes["photo"] = file.execute("SELECT substr(sha256, 1, 12) FROM photo").fetchone()[0]
        hashes["track"] = file.execute("SELECT substr(track_sha256, 1, 12) FROM bench_run").fetchone()[0]
    _behind_its_back(catalog, statement)
    named = {Finding(one.kind, one.where.format(**hashes), one.problem.format(**hashes)) for one in expected}
    assert set(check(catalog)) == named


def test_sums_of_floats_are_not_blamed(catalog: Catalog) -> None:
    assert 0.3 - 0.1 - 0.2 < 0  # in binary
    for number, amount in enumerate((0.3, -0.1, -0.2), 10):
        _behind_its_back(
            catalog,
            f"INSERT INTO material_movement VALUES ({number}, 1, '2030-02-01', {amount}, 'used', '', NULL, NULL, NULL)",
        )
    assert check(catalog) == []


def test_a_damaged_page_is_found(catalog: Catalog) -> None:
    path = catalog.path
    assert path is not None
    whole = bytearray(path.read_bytes())
    middle = whole.rfind(b"moss-test-12-bare")
    whole[middle - 200 : middle] = b"\xff" * 200
    path.write_bytes(whole)
    findings = check(catalog)
    assert {one.kind for one in findings} == {"damage"}
