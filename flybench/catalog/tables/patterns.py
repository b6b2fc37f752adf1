"""Tables of recipes: patterns, their steps, variants by bead and hook, and finished flies coming and going."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import (
    CheckConstraint,
    Date,
    ForeignKey,
    Index,
    Numeric,
    String,
    Text,
    UniqueConstraint,
)
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
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.photos import Photo
from flybench.catalog.tables.vocabulary import Part, Style, Unit, Why


class Pattern(Base):
    """A recipe."""

    __tablename__ = "pattern"

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(code_type(), unique=True)
    name: Mapped[str] = mapped_column(String(NAME_LENGTH))
    style: Mapped[Style] = mapped_column(words(Style), index=True)
    notes: Mapped[str] = mapped_column(Text, default="")
    retired_on: Mapped[date | None] = mapped_column(Date)

    steps: Mapped[list[Step]] = relationship(
        back_populates="pattern", cascade="all, delete-orphan", order_by="Step.position"
    )
    photos: Mapped[list[Photo]] = relationship(
        back_populates="pattern", cascade="all, delete-orphan", order_by="Photo.position"
    )
    variants: Mapped[list[Variant]] = relationship(back_populates="pattern", order_by="Variant.id")


class Step(Base):
    """One step of a recipe; hook and bead come from the variant."""

    __tablename__ = "step"
    __table_args__ = (
        UniqueConstraint("pattern_id", "position"),
        *above_zero("amount"),
        together("amount", "unit"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    pattern_id: Mapped[int] = mapped_column(ForeignKey("pattern.id", ondelete="CASCADE"))
    position: Mapped[int] = mapped_column(comment="from 1")
    part: Mapped[Part] = mapped_column(words(Part))
    material_id: Mapped[int | None] = mapped_column(
        ForeignKey("material.id", ondelete="RESTRICT"), index=True
    )
    amount: Mapped[float | None] = mapped_column(Number, comment="in the step's unit")
    unit: Mapped[Unit | None] = mapped_column(words(Unit))
    text: Mapped[str] = mapped_column(Text, default="")

    pattern: Mapped[Pattern] = relationship(back_populates="steps")
    material: Mapped[Material | None] = relationship()


class Variant(Base):
    """A pattern on one hook with one bead; what is not said comes from the variant it is based on."""

    __tablename__ = "variant"
    __table_args__ = (
        CheckConstraint("based_on_id IS NULL OR based_on_id <> id", name="own_base"),
        *not_negative("price", "reorder_level"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(code_type(), unique=True)
    pattern_id: Mapped[int] = mapped_column(ForeignKey("pattern.id", ondelete="RESTRICT"), index=True)
    hook_id: Mapped[int] = mapped_column(ForeignKey("hook.material_id", ondelete="RESTRICT"), index=True)
    bead_id: Mapped[int | None] = mapped_column(
        ForeignKey("bead.material_id", ondelete="RESTRICT"), index=True
    )
    based_on_id: Mapped[int | None] = mapped_column(ForeignKey("variant.id", ondelete="RESTRICT"), index=True)
    price: Mapped[Decimal | None] = mapped_column(Numeric(12, 2), comment="in the catalog's currency")
    bin: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="where its flies lie")
    reorder_level: Mapped[int | None] = mapped_column(comment="flies; below it more are to be tied")
    notes: Mapped[str] = mapped_column(Text, default="")
    retired_on: Mapped[date | None] = mapped_column(Date)

    pattern: Mapped[Pattern] = relationship(back_populates="variants")
    hook: Mapped[Hook] = relationship()
    bead: Mapped[Bead | None] = relationship()
    based_on: Mapped[Variant | None] = relationship(remote_side="Variant.id")
    changes: Mapped[list[VariantChange]] = relationship(
        back_populates="variant", cascade="all, delete-orphan", order_by="VariantChange.position"
    )
    photos: Mapped[list[Photo]] = relationship(
        back_populates="variant", cascade="all, delete-orphan", order_by="Photo.position"
    )


class VariantChange(Base):
    """A step that a variant does otherwise: another material, another amount."""

    __tablename__ = "variant_change"
    __table_args__ = (UniqueConstraint("variant_id", "position"), *not_negative("amount"))

    id: Mapped[int] = mapped_column(primary_key=True)
    variant_id: Mapped[int] = mapped_column(ForeignKey("variant.id", ondelete="CASCADE"))
    position: Mapped[int] = mapped_column(comment="of the pattern's step")
    material_id: Mapped[int | None] = mapped_column(
        ForeignKey("material.id", ondelete="RESTRICT"), index=True
    )
    amount: Mapped[float | None] = mapped_column(Number, comment="in the step's unit; 0 leaves it out")

    variant: Mapped[Variant] = relationship(back_populates="changes")
    material: Mapped[Material | None] = relationship()


class FlyMovement(Base):
    """Finished flies of a variant coming or going."""

    __tablename__ = "fly_movement"
    __table_args__ = (
        CheckConstraint("amount <> 0 AND abs(amount) <= 1000000", name="amount"),
        *not_negative("price"),
        Index("ix_fly_movement_sum", "variant_id", "amount"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    variant_id: Mapped[int] = mapped_column(ForeignKey("variant.id", ondelete="RESTRICT"))
    at: Mapped[datetime] = mapped_column(UtcTime, comment="UTC")
    amount: Mapped[int] = mapped_column(comment="flies, negative when they go")
    why: Mapped[Why] = mapped_column(words(Why))
    note: Mapped[str] = mapped_column(String(NAME_LENGTH), default="")
    price: Mapped[Decimal | None] = mapped_column(Numeric(12, 2), comment="of one fly when it was sold")
    currency: Mapped[str | None] = mapped_column(String(CURRENCY_LENGTH), comment="of the price")
    tax_percent: Mapped[Decimal | None] = mapped_column(
        Numeric(9, 6), comment="within the price when it was sold"
    )
    supplier: Mapped[str | None] = mapped_column(String(NAME_LENGTH), comment="whom they were bought from")

    variant: Mapped[Variant] = relationship()
