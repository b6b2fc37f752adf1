"""Runs that count, in few and narrow columns, so that those of a whole shop are read at once; kept in step with the runs."""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from flybench.catalog.tables.base import Base, Number


class CountedRun(Base):
    """A run that counts, taken apart as pooling takes it: worked out from the run's sheet and result, and kept beside it.

    Relative standard uncertainties: ``own``, which falls with drops, and ``shares``, from things that other runs may have an
    error from too: [what it is, which one of them, size]. ``correction`` takes the speed to the water that the shop's speeds
    are shown for.
    """

    __tablename__ = "counted_run"
    __table_args__ = (
        Index("ix_counted_run_fly_id", "fly_id", "salinity", "temperature_k"),
        Index("ix_counted_run_water", "salinity", "temperature_k"),
        Index("ix_counted_run_brought", "brought_to_k"),
    )

    run_id: Mapped[int] = mapped_column(ForeignKey("bench_run.id", ondelete="CASCADE"), primary_key=True)
    fly_id: Mapped[int] = mapped_column(ForeignKey("fly.id", ondelete="CASCADE"))
    speed_m_s: Mapped[float] = mapped_column(Number, comment="m/s, in free water")
    temperature_k: Mapped[float] = mapped_column(Number, comment="K, of the water")
    salinity: Mapped[float] = mapped_column(Number, comment="kg/kg, of the water")
    drops: Mapped[int]
    own: Mapped[float] = mapped_column(Number, comment="share of the speed, standard")
    shares: Mapped[list[Any]] = mapped_column(JSON, comment="what, which, share of the speed")
    clip: Mapped[str] = mapped_column(String(64), comment="SHA-256 of the clip; empty where timed by hand")
    correction: Mapped[float] = mapped_column(Number, default=1.0, comment="speed there over speed here")
    correction_doubt: Mapped[float] = mapped_column(Number, default=0.0, comment="share of the speed, signed")
    brought_to_k: Mapped[float | None] = mapped_column(Number, comment="K; empty where it stays as it is")
