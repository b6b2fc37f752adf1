"""Tables of what flies are tied from: materials, with more about hooks and beads, and their stock."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, Numeric, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from flybench.catalog.tables.base import (
    CURRENCY_LENGTH,
    NAME_LENGTH,
    Base,
    Number,
    UtcTime,
    above_zero,
    code_type,
    not_negative,
    together,
    words,
)
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Unit, Why


class Material(Base):
    """Anything that goes on a fly."""

    __tablename__ = "material"
    __table_args__ = (
        *above_zero("density_kg_m3", "diameter_m", "pack_amount"),
        *not_negative("pack_price", "reorder_level"),
        together("pack_price", "pack_amount"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(code_type(), unique=True)
    kind: Mapped[MaterialKind] = mapped_column(words(MaterialKind), index=True)
    name: Mapped[str] = mapped_column(String(NAME_LENGTH))
    size: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="in the trade's own units")
    colour: Mapped[str | None] = mapped_column(String(NAME_LENGTH))
    density_kg_m3: Mapped[float | None] = mapped_column(Number, comment="kg/m3")
    diameter_m: Mapped[float | None] = mapped_column(Number, comment="m; of wire, thread and ballast")
    unit: Mapped[Unit] = mapped_column(words(Unit), default=Unit.PIECE, comment="of stock and pack")
    pack_amount: Mapped[float | None] = mapped_column(Number, comment="in units")
    pack_price: Mapped[Decimal | None] = mapped_column(Numeric(12, 2), comment="in the catalog's currency")
    supplier: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="whom it is bought from")
    bin: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="where it lies")
    reorder_level: Mapped[float | None] = mapped_column(Number, comment="in units; below it, buy more")
    notes: Mapped[str] = mapped_column(Text, default="")
    retired_on: Mapped[date | None] = mapped_column(Date)

    hook: Mapped[Hook | None] = relationship(back_populates="material", cascade="all, delete-orphan")
    bead: Mapped[Bead | None] = relationship(back_populates="material", cascade="all, delete-orphan")


class Hook(Base):
    """Geometry of a hook."""

    __tablename__ = "hook"
    __table_args__ = (
        *above_zero("gape_m", "shank_m", "wire_diameter_m", "mass_kg"),
        CheckConstraint("size BETWEEN 1 AND 32", name="size"),
    )

    material_id: Mapped[int] = mapped_column(ForeignKey("material.id", ondelete="CASCADE"), primary_key=True)
    size: Mapped[int] = mapped_column(index=True, comment="trade number")
    gape_m: Mapped[float | None] = mapped_column(Number, comment="m")
    shank_m: Mapped[float | None] = mapped_column(Number, comment="m")
    wire_diameter_m: Mapped[float | None] = mapped_column(Number, comment="m")
    mass_kg: Mapped[float | None] = mapped_column(Number, comment="kg, weighed")

    material: Mapped[Material] = relationship(back_populates="hook")


class Bead(Base):
    """Geometry of a bead; its mass follows from it unless it was weighed."""

    __tablename__ = "bead"
    __table_args__ = (
        *above_zero("diameter_m", "bore_diameter_m", "mouth_diameter_m", "mouth_depth_m", "slot_width_m"),
        *above_zero("mass_kg", "weighed_kg"),
        *not_negative("mass_u_kg", "weighed_u_kg"),
    )

    material_id: Mapped[int] = mapped_column(ForeignKey("material.id", ondelete="CASCADE"), primary_key=True)
    diameter_m: Mapped[float] = mapped_column(Number, index=True, comment="m")
    metal: Mapped[Metal] = mapped_column(words(Metal))
    bore: Mapped[Bore] = mapped_column(words(Bore))
    bore_diameter_m: Mapped[float | None] = mapped_column(Number, comment="m")
    mouth_diameter_m: Mapped[float | None] = mapped_column(Number, comment="m; wide end of the bore")
    mouth_depth_m: Mapped[float | None] = mapped_column(Number, comment="m")
    slot_width_m: Mapped[float | None] = mapped_column(Number, comment="m")
    mass_kg: Mapped[float | None] = mapped_column(Number, comment="kg, from the geometry")
    mass_u_kg: Mapped[float | None] = mapped_column(Number, comment="kg, standard uncertainty")
    weighed_kg: Mapped[float | None] = mapped_column(Number, comment="kg, weighed; goes before mass_kg")
    weighed_u_kg: Mapped[float | None] = mapped_column(Number, comment="kg, standard uncertainty")

    material: Mapped[Material] = relationship(back_populates="bead")


class MaterialMovement(Base):
    """Stock of a material coming or going."""

    __tablename__ = "material_movement"
    __table_args__ = (
        CheckConstraint("amount <> 0 AND amount > -1e12 AND amount < 1e12", name="amount"),
        *not_negative("paid"),
        Index("ix_material_movement_sum", "material_id", "amount"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    material_id: Mapped[int] = mapped_column(ForeignKey("material.id", ondelete="RESTRICT"))
    at: Mapped[datetime] = mapped_column(UtcTime, comment="UTC")
    amount: Mapped[float] = mapped_column(Number, comment="in units, negative when it goes")
    why: Mapped[Why] = mapped_column(words(Why))
    note: Mapped[str] = mapped_column(String(NAME_LENGTH), default="")
    paid: Mapped[Decimal | None] = mapped_column(Numeric(12, 2), comment="for all of it when it was bought")
    currency: Mapped[str | None] = mapped_column(String(CURRENCY_LENGTH), comment="in which it was paid")
    supplier: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="whom it was bought from")

    material: Mapped[Material] = relationship()


class Setting(Base):
    """A setting of the whole catalog, such as the currency."""

    __tablename__ = "setting"

    key: Mapped[str] = mapped_column(code_type(), primary_key=True)
    value: Mapped[str] = mapped_column(String(NAME_LENGTH))
