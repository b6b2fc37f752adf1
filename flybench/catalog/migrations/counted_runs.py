"""Runs that count kept in few columns beside the runs, and with each pooled speed what it is made of and rests on."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from flybench.catalog.migrations.columns import may, must, refers


def add_counted_runs() -> None:
    """Make the table of runs that count, and give pooled speeds their new columns; all of it is filled at the next change."""
    op.create_table(
        "counted_run",
        must("run_id", sa.Integer()),
        must("fly_id", sa.Integer()),
        must("speed_m_s", sa.Float(), "m/s, in free water"),
        must("temperature_k", sa.Float(), "K, of the water"),
        must("salinity", sa.Float(), "kg/kg, of the water"),
        must("drops", sa.Integer()),
        must("own", sa.Float(), "share of the speed, standard"),
        must("shares", sa.JSON(), "what, which, share of the speed"),
        must("clip", sa.String(64), "SHA-256 of the clip; empty where timed by hand"),
        must("correction", sa.Float(), "speed there over speed here"),
        must("correction_doubt", sa.Float(), "share of the speed, signed"),
        may("brought_to_k", sa.Float(), "K; empty where it stays as it is"),
        refers("counted_run", "fly_id", "fly.id", "CASCADE"),
        refers("counted_run", "run_id", "bench_run.id", "CASCADE"),
        sa.PrimaryKeyConstraint("run_id", name="pk_counted_run"),
    )
    op.create_index("ix_counted_run_brought", "counted_run", ["brought_to_k"])
    op.create_index("ix_counted_run_fly_id", "counted_run", ["fly_id", "salinity", "temperature_k"])
    op.create_index("ix_counted_run_water", "counted_run", ["salinity", "temperature_k"])
    op.create_index("ix_bench_run_track_sha256", "bench_run", ["track_sha256"])
    steeper = "of a fly in two waters: how much steeper its drag goes, variance, what is shared"
    rests_on = "what of the shop its numbers, and those of its flies, rest on"
    _add("fly_speed", may("steeper", sa.JSON(), steeper))
    _add("variant_speed", may("rests_on", sa.String(80), rests_on))


def _add(table: str, column: sa.Column[Any]) -> None:
    with op.batch_alter_table(table) as batch:
        batch.add_column(
            may("brought", sa.Boolean(), "whether runs in other water were brought to the shown one")
        )
        batch.add_column(may("side", sa.LargeBinary(), "what the uncertainty is made of, packed"))
        batch.add_column(column)
