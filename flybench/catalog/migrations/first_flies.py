"""The first tables of tied flies: specimens, bench runs, their drops, pooled speeds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from flybench.catalog.migrations.columns import limited, may, must, refers, words


def make_flies() -> None:
    """Make the tables; those of patterns must be there."""
    _fly()
    _bench_run()
    _run_drop()
    _fly_speed()
    _variant_speed()


def _fly() -> None:
    op.create_table(
        "fly",
        must("id", sa.Integer()),
        must("code", sa.String(40)),
        must("variant_id", sa.Integer()),
        may("tied_on", sa.Date()),
        may("mass_kg", sa.Float(), "kg, dry"),
        may("mass_u_kg", sa.Float(), "kg, standard uncertainty"),
        may("mass_in_water_kg", sa.Float(), "kg, reading under water"),
        may("mass_in_water_u_kg", sa.Float(), "kg, standard uncertainty"),
        may("length_m", sa.Float(), "m, bead to tail"),
        may("retired_on", sa.Date()),
        must("notes", sa.Text()),
        *limited("fly", ">", "mass_kg", "mass_in_water_kg", "length_m"),
        *limited("fly", ">=", "mass_u_kg", "mass_in_water_u_kg"),
        sa.CheckConstraint(
            "mass_kg IS NULL OR mass_in_water_kg IS NULL OR mass_in_water_kg < mass_kg", op.f("ck_fly_floats")
        ),
        sa.CheckConstraint(
            "retired_on IS NULL OR tied_on IS NULL OR retired_on >= tied_on", op.f("ck_fly_retired")
        ),
        refers("fly", "variant_id", "variant.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_fly"),
        sa.UniqueConstraint("code", name="uq_fly_code"),
    )
    op.create_index("ix_fly_variant_id", "fly", ["variant_id"])


def _bench_run() -> None:
    op.create_table(
        "bench_run",
        must("id", sa.Integer()),
        must("fly_id", sa.Integer()),
        must("clip_name", sa.String(200)),
        must("clip_sha256", sa.String(64)),
        must("measured_at", sa.DateTime(), "UTC"),
        must("software", sa.String(40), "version that made the result"),
        must("verdict", words("verdict", "good usable refused")),
        must("accepted", sa.Boolean()),
        must("set_aside_why", sa.Text()),
        may("sink_speed_m_s", sa.Float(), "m/s, in the tank"),
        may("uncertainty_m_s", sa.Float(), "m/s, standard uncertainty"),
        may("free_speed_m_s", sa.Float(), "m/s, in free water"),
        may("free_uncertainty_m_s", sa.Float(), "m/s, standard"),
        may(
            "shared_uncertainty_m_s",
            sa.Float(),
            "m/s, standard; the part of it that all runs in one set-up share",
        ),
        must("temperature_k", sa.Float(), "K, of the water"),
        must("drops_used", sa.Integer()),
        must("flags", sa.JSON()),
        must("sheet", sa.JSON(), "as in the TOML sheet"),
        must("result", sa.JSON(), "the machine form"),
        must("track", sa.LargeBinary(), "sightings, compressed"),
        must("track_sha256", sa.String(64)),
        *limited(
            "bench_run", ">", "sink_speed_m_s", "uncertainty_m_s", "free_speed_m_s", "free_uncertainty_m_s"
        ),
        sa.CheckConstraint("accepted OR set_aside_why <> ''", op.f("ck_bench_run_set_aside")),
        sa.CheckConstraint("(sink_speed_m_s IS NULL) = (verdict = 'refused')", op.f("ck_bench_run_speed")),
        refers("bench_run", "fly_id", "fly.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_bench_run"),
        sa.UniqueConstraint("fly_id", "track_sha256", name="uq_bench_run_fly_id"),
    )
    op.create_index("ix_bench_run_clip_sha256", "bench_run", ["clip_sha256"])
    op.create_index("ix_bench_run_fly_id", "bench_run", ["fly_id"])


def _run_drop() -> None:
    op.create_table(
        "run_drop",
        must("run_id", sa.Integer()),
        must("number", sa.Integer(), "from 1"),
        must("start_s", sa.Float(), "s"),
        must("end_s", sa.Float(), "s"),
        must("frames_used", sa.Integer()),
        may("sink_speed_m_s", sa.Float(), "m/s"),
        may("uncertainty_m_s", sa.Float(), "m/s, standard"),
        may("fit_uncertainty_m_s", sa.Float(), "m/s, standard"),
        may("start_speed_m_s", sa.Float(), "m/s"),
        may("response_time_s", sa.Float(), "s"),
        may("terminal_share", sa.Float()),
        must("path_tilt_deg", sa.Float(), "degrees"),
        may("residual_rms_mm", sa.Float(), "mm"),
        must("used", sa.Boolean()),
        must("flags", sa.JSON()),
        sa.CheckConstraint("end_s >= start_s", op.f("ck_run_drop_times")),
        refers("run_drop", "run_id", "bench_run.id", "CASCADE"),
        sa.PrimaryKeyConstraint("run_id", "number", name="pk_run_drop"),
    )


def _fly_speed() -> None:
    op.create_table(
        "fly_speed",
        must("fly_id", sa.Integer()),
        must("free_speed_m_s", sa.Float(), "m/s, in free water"),
        must("free_uncertainty_m_s", sa.Float(), "m/s, standard"),
        must("temperature_k", sa.Float(), "K, mean of the runs' water"),
        must("runs", sa.Integer()),
        must("drops", sa.Integer()),
        *limited("fly_speed", ">", "free_speed_m_s", "free_uncertainty_m_s"),
        refers("fly_speed", "fly_id", "fly.id", "CASCADE"),
        sa.PrimaryKeyConstraint("fly_id", name="pk_fly_speed"),
    )
    op.create_index("ix_fly_speed_free", "fly_speed", ["free_speed_m_s"])


def _variant_speed() -> None:
    op.create_table(
        "variant_speed",
        must("variant_id", sa.Integer()),
        must("free_speed_m_s", sa.Float(), "m/s, in free water"),
        must("free_uncertainty_m_s", sa.Float(), "m/s, standard"),
        may("between_flies_m_s", sa.Float(), "m/s, standard deviation between flies; empty with one fly"),
        must("temperature_k", sa.Float(), "K, mean of the runs' water"),
        must("flies", sa.Integer()),
        *limited("variant_speed", ">", "free_speed_m_s", "free_uncertainty_m_s"),
        *limited("variant_speed", ">=", "between_flies_m_s"),
        refers("variant_speed", "variant_id", "variant.id", "CASCADE"),
        sa.PrimaryKeyConstraint("variant_id", name="pk_variant_speed"),
    )
    op.create_index("ix_variant_speed_free", "variant_speed", ["free_speed_m_s"])
