"""A small invented catalog with a row in every table, and batches that are whole or not there at all.

Flies, materials and numbers are invented; no real pattern, shop or brand is meant.
"""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cache
from hashlib import sha256
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.counted import CountedRun
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, RunDrop, VariantSpeed
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement, Setting
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant, VariantChange
from flybench.catalog.tables.photos import Photo, Picture
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit, Verdict, Why

NOON = datetime(2030, 1, 31, 12, tzinfo=UTC)
STEPS = 5


def filled(path: Path) -> Catalog:
    """Make a catalog file with a row or two in every table: a copy of one that was made once."""
    path.write_bytes(_ready_made())
    return open_catalog(str(path), make=False)


@cache
def _ready_made() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "filled.sqlite"
        with open_catalog(str(made)).writing() as session:
            fill(session)
        return made.read_bytes()


def fill(session: Session) -> None:
    """Put one row or two into every table."""
    hook = Material(code="hk-12", kind=MaterialKind.HOOK, name="Invented jig hook", size="12")
    hook.hook = Hook(size=12, gape_m=5.1e-3, wire_diameter_m=0.6e-3)
    bead = Material(code="bd-28", kind=MaterialKind.BEAD, name="Invented bead", colour="Ä-grün")
    bead.bead = Bead(diameter_m=2.8e-3, metal=Metal.TUNGSTEN, bore=Bore.SLOTTED, slot_width_m=1e-3)
    wool = Material(
        code="wool",
        kind=MaterialKind.BODY,
        name="Invented wool",
        unit=Unit.GRAM,
        pack_amount=5.0,
        pack_price=Decimal("3.50"),
    )
    session.add_all([hook, bead, wool, Setting(key="currency", value="EUR")])
    session.add(MaterialMovement(material=wool, at=NOON, amount=5.0, why=Why.BOUGHT, note="first"))
    session.flush()
    pattern = Pattern(code="moss-test", name="Moss Test", style=Style.DUBBED, notes="invented")
    pattern.steps = [
        Step(position=1, part=Part.BODY, material=wool, amount=0.02, unit=Unit.GRAM, text="Dub thinly."),
        Step(position=2, part=Part.FINISH, text="Finish; 'quoted' text."),
    ]
    pattern.photos = [photo("front.jpg", b"\x00\xffinvented picture")]
    first = Variant(
        code="moss-test-12", pattern=pattern, hook=hook.hook, bead=bead.bead, price=Decimal("2.20")
    )
    second = Variant(code="moss-test-12-bare", pattern=pattern, hook=hook.hook, based_on=first)
    second.changes = [VariantChange(position=1, amount=0.03)]
    session.add_all([pattern, first, second])
    session.add(FlyMovement(variant=first, at=NOON, amount=6, why=Why.TIED))
    _measured_fly(session, first)


def photo(name: str, content: bytes) -> Photo:
    """Return a photo with its hash."""
    picture = Picture(sha256=sha256(content).hexdigest(), media_type="image/jpeg", content=content)
    return Photo(position=1, name=name, picture=picture)


def _measured_fly(session: Session, variant: Variant) -> None:
    fly = Fly(code="f-1", variant=variant, tied_on=date(2030, 1, 30), mass_kg=2.1e-4, mass_u_kg=1e-6)
    track = b"\x01\x02invented track"
    run = BenchRun(
        fly=fly,
        clip_name="f-1.mp4",
        clip_sha256="0" * 64,
        measured_at=NOON,
        software="0.1.0",
        verdict=Verdict.GOOD,
        sink_speed_m_s=0.301,
        uncertainty_m_s=0.002,
        free_speed_m_s=0.304,
        free_uncertainty_m_s=0.003,
        temperature_k=291.15,
        drops_used=1,
        flags=["wall-near"],
        sheet={"water": {"temperature": "18 degC"}},
        result={"verdict": "good"},
        track=track,
        track_sha256=sha256(track).hexdigest(),
    )
    run.drops = [
        RunDrop(number=1, start_s=0.5, end_s=1.1, frames_used=120, path_tilt_deg=0.4, used=True, flags=[])
    ]
    pooled = {"free_speed_m_s": 0.304, "free_uncertainty_m_s": 0.003, "temperature_k": 291.15}
    session.add_all([run, FlySpeed(fly=fly, runs=1, drops=1, **pooled)])
    session.flush()
    session.add(VariantSpeed(variant_id=variant.id, flies=1, **pooled))
    apart = {"own": 0.005, "shares": [["fly", "", 0.0099]], "clip": run.clip_sha256, "drops": 1}
    session.add(
        CountedRun(run_id=run.id, fly_id=fly.id, speed_m_s=0.304, temperature_k=291.15, salinity=0.0, **apart)
    )


def add_batch(session: Session, code: str, size: int = 20_000) -> None:
    """Add a pattern with its steps and a photo of ``size`` bytes: all of it must be there, or nothing."""
    pattern = Pattern(code=code, name=f"Invented {code}", style=Style.SLICK)
    session.add(pattern)
    session.flush()  # goes to the file in several parts, so that a kill can fall between them
    pattern.steps = [Step(position=n, part=Part.BODY, text=code * 20) for n in range(1, STEPS + 1)]
    session.flush()
    pattern.photos = [photo("one.jpg", code.encode().ljust(size, b"."))]


def whole_batches(session: Session, beginning: str = "") -> set[str]:
    """Return the codes of the batches that begin so; each must be whole."""
    parts = selectinload(Pattern.steps), selectinload(Pattern.photos)
    found = session.scalars(select(Pattern).where(Pattern.code.startswith(beginning)).options(*parts)).all()
    for pattern in found:
        assert len(pattern.steps) == STEPS, pattern.code
        assert len(pattern.photos) == 1, pattern.code
    return {pattern.code for pattern in found}


def save_batch(path: Path, code: str) -> None:
    """Add a batch to a catalog file, which is made where it is not there."""
    with open_catalog(str(path)).writing() as session:
        add_batch(session, code)


def codes_in(path: Path) -> set[str]:
    """Return the codes of all batches of a catalog file that is sound."""
    catalog = open_catalog(str(path))
    assert check(catalog) == []
    with catalog.reading() as session:
        return whole_batches(session)
