"""The catalog looked over: damage, references that lead nowhere, and what is kept in step but is not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from sqlalchemy import ForeignKeyConstraint, and_, func, inspect, or_, select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session, aliased

from flybench.catalog.shelf.counted_runs import COUNTED
from flybench.catalog.store.open import Catalog
from flybench.catalog.store.settings import setting
from flybench.catalog.tables.counted import CountedRun
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.materials import Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant, VariantChange
from flybench.catalog.tables.photos import Photo, Picture
from flybench.catalog.tables.schema import REVISION, REVISION_TABLE, tables

_ROUNDING = 1e-9
"""Sums of stock may miss zero by this share of what came and went; floats do not add up exactly."""

_TRACKS_AT_ONCE = 100
"""Tracks read at a time [-]: some megabytes (judgement)."""


@dataclass(frozen=True)
class Finding:
    """Something that is not as it must be: of what kind, where, and what is wrong."""

    kind: str
    where: str
    problem: str


def check(catalog: Catalog) -> list[Finding]:
    """Return all that is wrong with a catalog, nothing where it is sound.

    Reads one moment of it, changes nothing. Raises FlybenchError where the catalog cannot be read at all.
    """
    with catalog.reading() as session:
        for part in (_damage, _shape):
            found = list(part(session))
            if found:  # to read on would only stumble over the same
                return found
        return [finding for part in _PARTS for finding in part(session)]


def _damage(session: Session) -> Iterator[Finding]:
    """Look at the file's own structure; a server looks after its files itself."""
    if session.get_bind().dialect.name != "sqlite":
        return
    try:
        for (line,) in session.execute(text("PRAGMA integrity_check")):
            if line != "ok":
                yield Finding("damage", "file", " ".join(line.split()))
    except DatabaseError as error:
        yield Finding("damage", "file", str(error.orig))


def _revision(session: Session) -> Iterator[Finding]:
    found = session.execute(text(f"SELECT version_num FROM {REVISION_TABLE} ORDER BY 1")).scalars().all()
    if list(found) != [REVISION]:
        names = ", ".join(found) or "none"
        yield Finding("revision", REVISION_TABLE, f"holds {names} where this program writes {REVISION}")


def _shape(session: Session) -> Iterator[Finding]:
    """Compare names of tables and columns with those of this program."""
    look = inspect(session.connection())
    there = set(look.get_table_names())
    for table in tables().sorted_tables:
        if table.name not in there:
            yield Finding("tables", table.name, "the table is missing")
            continue
        columns = {column["name"] for column in look.get_columns(table.name)}
        for name in sorted({column.name for column in table.columns} - columns):
            yield Finding("tables", f"{table.name}.{name}", "the column is missing")


def _orphans(session: Session) -> Iterator[Finding]:
    """Look for references that lead nowhere, and for changes of steps that a pattern does not have."""
    for table in tables().sorted_tables:
        for key in sorted(table.foreign_key_constraints, key=lambda key: list(key.column_keys)):
            yield from _dangling(session, key)
    change = (
        select(Variant.code, VariantChange.position)
        .join(Variant, Variant.id == VariantChange.variant_id)
        .outerjoin(Step, and_(Step.pattern_id == Variant.pattern_id, Step.position == VariantChange.position))
        .where(Step.id.is_(None))
        .order_by(Variant.code, VariantChange.position)
    )
    for code, position in session.execute(change):
        yield Finding(
            "orphan", f"variant {code}", f"changes step {position}, which its pattern does not have"
        )


def _dangling(session: Session, key: ForeignKeyConstraint) -> Iterator[Finding]:
    (element,) = key.elements
    child, parent = element.parent, element.column.table.alias("referred")
    target = parent.c[element.column.name]
    lost = (
        select(*child.table.primary_key.columns, child.label("lost"))
        .select_from(child.table.outerjoin(parent, child == target))
        .where(child.is_not(None), target.is_(None))
    )
    for *row, gone in session.execute(lost):
        name = " ".join(str(value) for value in row)
        problem = f"{child.name} is {gone}, but there is no such {element.column.table.name}"
        yield Finding("orphan", f"{child.table.name} {name}", problem)


def _hashes(session: Session) -> Iterator[Finding]:
    """Compare photos and tracks with the hashes taken when they came in, few at a time."""
    for (wanted,) in session.execute(select(Picture.sha256).order_by(Picture.sha256)).all():
        content = session.scalar(select(Picture.content).where(Picture.sha256 == wanted))
        if content is None or sha256(content).hexdigest() != wanted:
            for where in _shown_by(session, wanted):
                yield from _same(where, content, wanted)
    runs = select(BenchRun.id, Fly.code, BenchRun.track_sha256, BenchRun.track).join(Fly)
    some = runs.order_by(BenchRun.id).execution_options(yield_per=_TRACKS_AT_ONCE)
    for number, code, wanted, content in session.execute(some):
        yield from _same(f"track of run {number} of fly {code}", content, wanted)


def _shown_by(session: Session, picture: str) -> Iterator[str]:
    """Give the photos that show a picture in words, or the picture itself where none does."""
    code = func.coalesce(Pattern.code, Variant.code, Fly.code)
    photos = (
        select(Photo.name, Photo.pattern_id, Photo.variant_id, code)
        .outerjoin(Pattern, Pattern.id == Photo.pattern_id)
        .outerjoin(Variant, Variant.id == Photo.variant_id)
        .outerjoin(Fly, Fly.id == Photo.fly_id)
        .where(Photo.sha256 == picture)
        .order_by(Photo.id)
    )
    found = session.execute(photos).all()
    for name, pattern, variant, owner in found:
        noun = "pattern" if pattern is not None else "variant" if variant is not None else "fly"
        yield f"photo {name} of {noun} {owner}"
    if not found:
        yield f"picture {picture[:12]}…, which no photo shows"


def _same(where: str, content: bytes | None, wanted: str) -> Iterator[Finding]:
    found = sha256(content or b"").hexdigest()
    if found != wanted:
        yield Finding(
            "hash",
            where,
            f"was changed: its SHA-256 is {found[:12]}…, but was {wanted[:12]}… when it came in",
        )


def _fly_speeds(session: Session) -> Iterator[Finding]:
    """See that a pooled speed is there for every fly with accepted runs that have one, and for no other."""
    counted = (
        select(BenchRun.fly_id, func.count().label("runs"))
        .where(BenchRun.accepted, BenchRun.free_speed_m_s.is_not(None))
        .group_by(BenchRun.fly_id)
        .subquery()
    )
    rows = (
        select(Fly.code, func.coalesce(counted.c.runs, 0), func.coalesce(FlySpeed.runs, 0))
        .outerjoin(counted, counted.c.fly_id == Fly.id)
        .outerjoin(FlySpeed, FlySpeed.fly_id == Fly.id)
        .where(func.coalesce(counted.c.runs, 0) != func.coalesce(FlySpeed.runs, 0))
    )
    for code, runs, pooled in session.execute(rows.order_by(Fly.code)):
        yield Finding(
            "speed", f"fly {code}", f"its sink speed is that of {pooled} of its runs, but {runs} are accepted"
        )


def _counted_runs(session: Session) -> Iterator[Finding]:
    """See that what is kept of the runs that count, where it is kept, is of as many runs as each speed says."""
    if setting(session, COUNTED) is None:
        return
    kept = select(CountedRun.fly_id, func.count().label("runs")).group_by(CountedRun.fly_id).subquery()
    rows = (
        select(Fly.code, func.coalesce(kept.c.runs, 0), FlySpeed.runs)
        .join(FlySpeed, FlySpeed.fly_id == Fly.id)
        .outerjoin(kept, kept.c.fly_id == Fly.id)
        .where(func.coalesce(kept.c.runs, 0) != FlySpeed.runs, FlySpeed.side.is_not(None))
    )
    for code, runs, pooled in session.execute(rows.order_by(Fly.code)):
        problem = f"its sink speed is that of {pooled} of its runs, but {runs} are kept for pooling"
        yield Finding("speed", f"fly {code}", problem)


def _variant_speeds(session: Session) -> Iterator[Finding]:
    """See that a variant has a speed where one of its flies has, and only there."""
    measured = (
        select(FlySpeed.fly_id).join(Fly, Fly.id == FlySpeed.fly_id).where(Fly.variant_id == Variant.id)
    )
    rows = (
        select(Variant.code, VariantSpeed.variant_id)
        .outerjoin(VariantSpeed, VariantSpeed.variant_id == Variant.id)
        .where(
            or_(
                and_(measured.exists(), VariantSpeed.variant_id.is_(None)),
                and_(~measured.exists(), VariantSpeed.variant_id.is_not(None)),
            )
        )
    )
    for code, pooled in session.execute(rows.order_by(Variant.code)):
        problem = (
            "has no sink speed, but one of its flies has"
            if pooled is None
            else "has a sink speed, but none of its flies has"
        )
        yield Finding("speed", f"variant {code}", problem)


def _stock(session: Session) -> Iterator[Finding]:
    """See that no more went than came."""
    for noun, owner, movement in (
        ("material", Material, MaterialMovement),
        ("variant", Variant, FlyMovement),
    ):
        amount: Any = movement.amount
        total, moved = func.sum(amount), func.sum(func.abs(amount))
        rows = select(owner.code, total).join(movement).group_by(owner.code)
        short = rows.having(total < -_ROUNDING * moved).order_by(owner.code)
        for code, left in session.execute(short):
            yield Finding("stock", f"{noun} {code}", f"has {left:g} in stock: more went than came")


def _cycles(session: Session) -> Iterator[Finding]:
    """See that every chain of variants based on each other comes to an end."""
    base = aliased(Variant)
    pairs = select(Variant.code, base.code).join(base, base.id == Variant.based_on_id)
    based_on = {row[0]: row[1] for row in session.execute(pairs)}
    seen: set[str] = set()
    for start in sorted(based_on):
        chain, code = [start], based_on[start]
        while code in based_on and code not in chain and code not in seen:
            chain.append(code)
            code = based_on[code]
        if code in chain:
            circle = chain[chain.index(code) :]
            yield Finding(
                "cycle", f"variant {circle[0]}", f"is based on itself: {' -> '.join([*circle, code])}"
            )
        seen.update(chain)


_PARTS: tuple[Callable[[Session], Iterator[Finding]], ...] = (
    _revision,
    _orphans,
    _hashes,
    _fly_speeds,
    _counted_runs,
    _variant_speeds,
    _stock,
    _cycles,
)
