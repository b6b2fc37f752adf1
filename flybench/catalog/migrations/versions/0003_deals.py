"""What a sale or a delivery was made in stays with it: its currency, the tax within its price, whom the goods came from."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from flybench.catalog.migrations.columns import may

revision = "0003"
down_revision = "0002"

_SETTING = "(SELECT value FROM setting WHERE key = '{}')"


def upgrade() -> None:
    """Give movements of stock their new columns; what was sold and bought so far was in what the catalog is set to now."""
    _add(
        "fly_movement",
        "of the price",
        may("tax_percent", sa.Numeric(9, 6), "within the price when it was sold"),
    )
    _add("material_movement", "in which it was paid")
    currency, tax = _SETTING.format("currency"), f"CAST({_SETTING.format('tax')} AS NUMERIC(9, 6))"
    op.execute(f"UPDATE fly_movement SET currency = {currency} WHERE price IS NOT NULL")
    op.execute(f"UPDATE fly_movement SET tax_percent = {tax} WHERE price IS NOT NULL AND why = 'sold'")
    op.execute(f"UPDATE material_movement SET currency = {currency} WHERE paid IS NOT NULL")


def _add(table: str, currency_of: str, *more: sa.Column[object]) -> None:
    whom = "they were" if table == "fly_movement" else "it was"
    with op.batch_alter_table(table) as batch:
        batch.add_column(may("currency", sa.String(20), currency_of))
        for column in more:
            batch.add_column(column)
        batch.add_column(may("supplier", sa.String(200), f"whom {whom} bought from"))
