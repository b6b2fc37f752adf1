"""Tables of photos: pictures kept once by what they hold, and what each of them shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import CheckConstraint, ForeignKey, LargeBinary, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from flybench.catalog.tables.base import NAME_LENGTH, Base, above_zero

if TYPE_CHECKING:
    from flybench.catalog.tables.flies import Fly
    from flybench.catalog.tables.patterns import Pattern, Variant

HASH_LENGTH = 64
"""Letters of a SHA-256 in hexadecimal."""


class Picture(Base):
    """A picture as it is stored, once whatever shows it; it stays when a photo is removed, so that this can be undone."""

    __tablename__ = "picture"
    __table_args__ = (*above_zero("width", "height"),)

    sha256: Mapped[str] = mapped_column(String(HASH_LENGTH), primary_key=True, comment="of the content")
    media_type: Mapped[str] = mapped_column(String(40), comment="such as image/jpeg")
    width: Mapped[int | None] = mapped_column(comment="pixels; empty where nobody has looked")
    height: Mapped[int | None] = mapped_column(comment="pixels; empty where nobody has looked")
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)


class Photo(Base):
    """A picture of one pattern, one variant or one fly, under a name that no other picture of it has."""

    __tablename__ = "photo"
    __table_args__ = (
        UniqueConstraint("pattern_id", "name"),
        UniqueConstraint("variant_id", "name"),
        UniqueConstraint("fly_id", "name"),
        CheckConstraint(
            "CASE WHEN pattern_id IS NULL THEN 0 ELSE 1 END + CASE WHEN variant_id IS NULL THEN 0 ELSE 1 END"
            " + CASE WHEN fly_id IS NULL THEN 0 ELSE 1 END = 1",
            name="of_one_thing",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    pattern_id: Mapped[int | None] = mapped_column(ForeignKey("pattern.id", ondelete="CASCADE"))
    variant_id: Mapped[int | None] = mapped_column(ForeignKey("variant.id", ondelete="CASCADE"))
    fly_id: Mapped[int | None] = mapped_column(ForeignKey("fly.id", ondelete="CASCADE"))
    position: Mapped[int] = mapped_column(comment="from 1")
    name: Mapped[str] = mapped_column(String(NAME_LENGTH), comment="file name without a folder")
    caption: Mapped[str] = mapped_column(String(NAME_LENGTH), default="")
    sha256: Mapped[str] = mapped_column(ForeignKey("picture.sha256", ondelete="RESTRICT"), index=True)

    picture: Mapped[Picture] = relationship()
    pattern: Mapped[Pattern | None] = relationship(back_populates="photos")
    variant: Mapped[Variant | None] = relationship(back_populates="photos")
    fly: Mapped[Fly | None] = relationship(back_populates="photos")
