"""Tables of tied specimens and how they sank: flies, bench runs, their drops, and pooled speeds."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Date,
    ForeignKey,
    Index,
    LargeBinary,
    String,
    Text,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship

from flybench.catalog.tables.base import (
    NAME_LENGTH,
    Base,
    Number,
    UtcTime,
    above_zero,
    code_type,
    not_negative,
    words,
)
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.photos import Photo
from flybench.catalog.tables.vocabulary import Verdict

SAME_CLIP = "same_clip"
"""Key of a kept result: why its clip counts for this fly though another fly has it."""


class Fly(Base):
    """One tied specimen: what is weighed and dropped."""

    __tablename__ = "fly"
    __table_args__ = (
        *above_zero("mass_kg", "mass_in_water_kg", "length_m"),
        *not_negative("mass_u_kg", "mass_in_water_u_kg"),
        CheckConstraint(
            "mass_kg IS NULL OR mass_in_water_kg IS NULL OR mass_in_water_kg < mass_kg", name="floats"
        ),
        CheckConstraint("retired_on IS NULL OR tied_on IS NULL OR retired_on >= tied_on", name="retired"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(code_type(), unique=True)
    variant_id: Mapped[int] = mapped_column(ForeignKey("variant.id", ondelete="RESTRICT"), index=True)
    tied_on: Mapped[date | None] = mapped_column(Date)
    mass_kg: Mapped[float | None] = mapped_column(Number, comment="kg, dry")
    mass_u_kg: Mapped[float | None] = mapped_column(Number, comment="kg, standard uncertainty")
    mass_in_water_kg: Mapped[float | None] = mapped_column(Number, comment="kg, reading under water")
    mass_in_water_u_kg: Mapped[float | None] = mapped_column(Number, comment="kg, standard uncertainty")
    length_m: Mapped[float | None] = mapped_column(Number, comment="m, bead to tail")
    retired_on: Mapped[date | None] = mapped_column(Date)
    notes: Mapped[str] = mapped_column(Text, default="")

    variant: Mapped[Variant] = relationship()
    runs: Mapped[list[BenchRun]] = relationship(back_populates="fly", order_by="BenchRun.id")
    speed: Mapped[FlySpeed | None] = relationship(
        back_populates="fly", cascade="all, delete-orphan", passive_deletes=True
    )
    photos: Mapped[list[Photo]] = relationship(
        back_populates="fly", cascade="all, delete-orphan", order_by="Photo.position"
    )


class BenchRun(Base):
    """All drops of one fly in one clip, with what is needed to fit them again without the clip."""

    __tablename__ = "bench_run"
    __table_args__ = (
        UniqueConstraint("fly_id", "track_sha256"),
        CheckConstraint("accepted OR set_aside_why <> ''", name="set_aside"),
        *above_zero("sink_speed_m_s", "uncertainty_m_s", "free_speed_m_s", "free_uncertainty_m_s"),
        CheckConstraint("(sink_speed_m_s IS NULL) = (verdict = 'refused')", name="speed"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    fly_id: Mapped[int] = mapped_column(ForeignKey("fly.id", ondelete="RESTRICT"), index=True)
    clip_name: Mapped[str] = mapped_column(String(NAME_LENGTH))
    clip_sha256: Mapped[str] = mapped_column(String(64), index=True)
    set_up: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="name of the set-up at the tank")
    filmed_on: Mapped[date | None] = mapped_column(Date)
    measured_at: Mapped[datetime] = mapped_column(UtcTime, comment="UTC")
    software: Mapped[str] = mapped_column(String(40), comment="version that made the result")
    verdict: Mapped[Verdict] = mapped_column(words(Verdict))
    accepted: Mapped[bool] = mapped_column(default=True)
    set_aside_why: Mapped[str] = mapped_column(Text, default="")
    sink_speed_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, in the tank")
    uncertainty_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, standard uncertainty")
    free_speed_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, in free water")
    free_uncertainty_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, standard")
    shared_uncertainty_m_s: Mapped[float | None] = mapped_column(
        Number, comment="m/s, standard; the part of it that all runs in one set-up share"
    )
    temperature_k: Mapped[float] = mapped_column(Number, comment="K, of the water")
    drops_used: Mapped[int]
    flags: Mapped[list[str]] = mapped_column(JSON)
    sheet: Mapped[dict[str, Any]] = mapped_column(JSON, comment="as in the TOML sheet")
    result: Mapped[dict[str, Any]] = mapped_column(JSON, deferred=True, comment="the machine form")
    track: Mapped[bytes] = mapped_column(LargeBinary, deferred=True, comment="sightings, compressed")
    track_sha256: Mapped[str] = mapped_column(String(64), index=True)

    fly: Mapped[Fly] = relationship(back_populates="runs")
    drops: Mapped[list[RunDrop]] = relationship(
        back_populates="run", cascade="all, delete-orphan", order_by="RunDrop.number"
    )


class RunDrop(Base):
    """One drop of a bench run; times in real seconds from the first frame."""

    __tablename__ = "run_drop"
    __table_args__ = (CheckConstraint("end_s >= start_s", name="times"),)

    run_id: Mapped[int] = mapped_column(ForeignKey("bench_run.id", ondelete="CASCADE"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, comment="from 1")
    start_s: Mapped[float] = mapped_column(Number, comment="s")
    end_s: Mapped[float] = mapped_column(Number, comment="s")
    frames_used: Mapped[int]
    sink_speed_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s")
    uncertainty_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, standard")
    fit_uncertainty_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s, standard")
    start_speed_m_s: Mapped[float | None] = mapped_column(Number, comment="m/s")
    response_time_s: Mapped[float | None] = mapped_column(Number, comment="s")
    terminal_share: Mapped[float | None] = mapped_column(Number)
    path_tilt_deg: Mapped[float] = mapped_column(Number, comment="degrees")
    residual_rms_mm: Mapped[float | None] = mapped_column(Number, comment="mm")
    used: Mapped[bool]
    flags: Mapped[list[str]] = mapped_column(JSON)

    run: Mapped[BenchRun] = relationship(back_populates="drops")


class FlySpeed(Base):
    """Sink speed of a fly, pooled over its accepted runs; kept in step with them."""

    __tablename__ = "fly_speed"
    __table_args__ = (
        *above_zero("free_speed_m_s", "free_uncertainty_m_s"),
        Index("ix_fly_speed_free", "free_speed_m_s"),
    )

    fly_id: Mapped[int] = mapped_column(ForeignKey("fly.id", ondelete="CASCADE"), primary_key=True)
    free_speed_m_s: Mapped[float] = mapped_column(Number, comment="m/s, in free water")
    free_uncertainty_m_s: Mapped[float] = mapped_column(Number, comment="m/s, standard")
    temperature_k: Mapped[float] = mapped_column(Number, comment="K, mean of the runs' water")
    runs: Mapped[int]
    drops: Mapped[int]
    brought: Mapped[bool | None] = mapped_column(
        comment="whether runs in other water were brought to the shown one"
    )
    side: Mapped[bytes | None] = mapped_column(LargeBinary, comment="what the uncertainty is made of, packed")
    steeper: Mapped[list[float] | None] = mapped_column(
        JSON(none_as_null=True),
        comment="of a fly in two waters: how much steeper its drag goes, variance, what is shared",
    )

    fly: Mapped[Fly] = relationship(back_populates="speed")


class VariantSpeed(Base):
    """Sink speed of a variant, pooled over its flies, with the spread between them."""

    __tablename__ = "variant_speed"
    __table_args__ = (
        *above_zero("free_speed_m_s", "free_uncertainty_m_s"),
        *not_negative("between_flies_m_s"),
        Index("ix_variant_speed_free", "free_speed_m_s"),
    )

    variant_id: Mapped[int] = mapped_column(ForeignKey("variant.id", ondelete="CASCADE"), primary_key=True)
    free_speed_m_s: Mapped[float] = mapped_column(Number, comment="m/s, in free water")
    free_uncertainty_m_s: Mapped[float] = mapped_column(Number, comment="m/s, standard")
    between_flies_m_s: Mapped[float | None] = mapped_column(
        Number, comment="m/s, standard deviation between flies; empty with one fly"
    )
    temperature_k: Mapped[float] = mapped_column(Number, comment="K, mean of the runs' water")
    flies: Mapped[int]
    brought: Mapped[bool | None] = mapped_column(
        comment="whether runs in other water were brought to the shown one"
    )
    side: Mapped[bytes | None] = mapped_column(LargeBinary, comment="what the uncertainty is made of, packed")
    rests_on: Mapped[str | None] = mapped_column(
        String(80), comment="what of the shop its numbers, and those of its flies, rest on"
    )
