"""Tables of what was changed: each command that changed something, and each row that it added, changed or removed."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from flybench.catalog.tables.base import NAME_LENGTH, Base, UtcTime, code_type, words
from flybench.catalog.tables.vocabulary import Action


class ChangeSet(Base):
    """All that one command changed, together: it is undone together too."""

    __tablename__ = "change_set"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(UtcTime, comment="UTC")
    who: Mapped[str] = mapped_column(String(NAME_LENGTH), comment="user of the computer")
    command: Mapped[str] = mapped_column(String(NAME_LENGTH), comment="such as flybench variant change")
    undone_by_id: Mapped[int | None] = mapped_column(
        ForeignKey("change_set.id", ondelete="SET NULL"), index=True, comment="the change that undid it"
    )

    rows: Mapped[list[RowChange]] = relationship(
        back_populates="change_set", cascade="all, delete-orphan", order_by="RowChange.id"
    )


class RowChange(Base):
    """One row that was added, changed or removed; pooled speeds are worked out and not written down here."""

    __tablename__ = "row_change"
    __table_args__ = (Index("ix_row_change_row", "in_table", "row_key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    change_set_id: Mapped[int] = mapped_column(ForeignKey("change_set.id", ondelete="CASCADE"), index=True)
    in_table: Mapped[str] = mapped_column(code_type(), comment="name of the table")
    row_key: Mapped[str] = mapped_column(String(NAME_LENGTH), comment="primary key, parted by spaces")
    noun: Mapped[str] = mapped_column(code_type(), comment="what it is, such as fly")
    code: Mapped[str] = mapped_column(code_type(), comment="of the thing that the row belongs to")
    action: Mapped[Action] = mapped_column(words(Action))
    old: Mapped[dict[str, Any] | None] = mapped_column(
        JSON(none_as_null=True), comment="values before, by column; all of them of a row that was removed"
    )
    new: Mapped[dict[str, Any] | None] = mapped_column(
        JSON(none_as_null=True), comment="values after, by column; none of a row that was removed"
    )

    change_set: Mapped[ChangeSet] = relationship(back_populates="rows")
