"""What a shop needs: changes kept, pictures once each, bins, suppliers, reorder levels, prices of sales, set-ups of runs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from flybench.catalog.migrations.columns import limited, may, must, refers, words
from flybench.catalog.migrations.counted_runs import add_counted_runs

revision = "0002"
down_revision = "0001"

_OF_ONE_THING = (
    "CASE WHEN pattern_id IS NULL THEN 0 ELSE 1 END + CASE WHEN variant_id IS NULL THEN 0 ELSE 1 END"
    " + CASE WHEN fly_id IS NULL THEN 0 ELSE 1 END = 1"
)


def upgrade() -> None:
    """Give the tables their new columns, make those of changes, and keep each picture once."""
    _new_columns()
    _changes()
    _picture()
    _photo()
    add_counted_runs()


def _new_columns() -> None:
    _add("pattern", may("retired_on", sa.Date()))
    _add(
        "material",
        may("supplier", sa.String(200), "whom it is bought from"),
        may("bin", sa.String(200), "where it lies"),
        may("reorder_level", sa.Float(), "in units; below it, buy more"),
        may("retired_on", sa.Date()),
        not_below_zero="reorder_level",
    )
    _add(
        "variant",
        may("bin", sa.String(200), "where its flies lie"),
        may("reorder_level", sa.Integer(), "flies; below it more are to be tied"),
        may("retired_on", sa.Date()),
        not_below_zero="reorder_level",
    )
    price = may("price", sa.Numeric(12, 2), "of one fly when it was sold")
    _add("fly_movement", price, not_below_zero="price")
    paid = may("paid", sa.Numeric(12, 2), "for all of it when it was bought")
    _add("material_movement", paid, not_below_zero="paid")
    set_up = may("set_up", sa.String(200), "name of the set-up at the tank")
    _add("bench_run", set_up, may("filmed_on", sa.Date()))


def _add(table: str, *columns: sa.Column[object], not_below_zero: str = "") -> None:
    with op.batch_alter_table(table) as batch:
        for column in columns:
            batch.add_column(column)
        if not_below_zero:
            rule = f"{not_below_zero} IS NULL OR ({not_below_zero} >= 0 AND {not_below_zero} < 1e12)"
            batch.create_check_constraint(op.f(f"ck_{table}_{not_below_zero}"), rule)


def _changes() -> None:
    op.create_table(
        "change_set",
        must("id", sa.Integer()),
        must("at", sa.DateTime(), "UTC"),
        must("who", sa.String(200), "user of the computer"),
        must("command", sa.String(200), "such as flybench variant change"),
        may("undone_by_id", sa.Integer(), "the change that undid it"),
        refers("change_set", "undone_by_id", "change_set.id", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name="pk_change_set"),
    )
    op.create_index("ix_change_set_undone_by_id", "change_set", ["undone_by_id"])
    op.create_table(
        "row_change",
        must("id", sa.Integer()),
        must("change_set_id", sa.Integer()),
        must("in_table", sa.String(40), "name of the table"),
        must("row_key", sa.String(200), "primary key, parted by spaces"),
        must("noun", sa.String(40), "what it is, such as fly"),
        must("code", sa.String(40), "of the thing that the row belongs to"),
        must("action", words("action", "added changed removed")),
        may("old", sa.JSON(), "values before, by column; all of them of a row that was removed"),
        may("new", sa.JSON(), "values after, by column; none of a row that was removed"),
        refers("row_change", "change_set_id", "change_set.id", "CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_row_change"),
    )
    op.create_index("ix_row_change_change_set_id", "row_change", ["change_set_id"])
    op.create_index("ix_row_change_row", "row_change", ["in_table", "row_key"])


def _picture() -> None:
    op.create_table(
        "picture",
        must("sha256", sa.String(64), "of the content"),
        must("media_type", sa.String(40), "such as image/jpeg"),
        may("width", sa.Integer(), "pixels; empty where nobody has looked"),
        may("height", sa.Integer(), "pixels; empty where nobody has looked"),
        must("content", sa.LargeBinary()),
        *limited("picture", ">", "width", "height"),
        sa.PrimaryKeyConstraint("sha256", name="pk_picture"),
    )
    op.execute(
        "INSERT INTO picture (sha256, media_type, content) "
        "SELECT sha256, CASE WHEN lower(name) LIKE '%.png' THEN 'image/png' ELSE 'image/jpeg' END, content FROM photo "
        "WHERE id IN (SELECT min(id) FROM photo GROUP BY sha256)"
    )


def _photo() -> None:
    with op.batch_alter_table("photo") as batch:
        batch.drop_column("content")
        batch.alter_column("pattern_id", existing_type=sa.Integer(), nullable=True)
        batch.add_column(may("variant_id", sa.Integer()))
        batch.add_column(may("fly_id", sa.Integer()))
        batch.add_column(sa.Column("caption", sa.String(200), nullable=False, server_default=""))
        batch.create_foreign_key("fk_photo_variant_id", "variant", ["variant_id"], ["id"], ondelete="CASCADE")
        batch.create_foreign_key("fk_photo_fly_id", "fly", ["fly_id"], ["id"], ondelete="CASCADE")
        batch.create_foreign_key("fk_photo_sha256", "picture", ["sha256"], ["sha256"], ondelete="RESTRICT")
        batch.create_unique_constraint("uq_photo_variant_id", ["variant_id", "name"])
        batch.create_unique_constraint("uq_photo_fly_id", ["fly_id", "name"])
        batch.create_check_constraint(op.f("ck_photo_of_one_thing"), _OF_ONE_THING)
    with op.batch_alter_table("photo") as batch:
        batch.alter_column("caption", server_default=None)
        batch.create_index("ix_photo_sha256", ["sha256"])
