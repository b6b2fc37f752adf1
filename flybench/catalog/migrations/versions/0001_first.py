"""The first tables: materials, patterns, tied flies and their bench runs, and stock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from flybench.catalog.migrations.columns import limited, may, must, refers, words
from flybench.catalog.migrations.first_flies import make_flies

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make all tables, each after those it refers to."""
    _material()
    _pattern()
    _setting()
    _bead()
    _hook()
    _material_movement()
    _photo()
    _step()
    _variant()
    _fly_movement()
    _variant_change()
    make_flies()


def _material() -> None:
    op.create_table(
        "material",
        must("id", sa.Integer()),
        must("code", sa.String(40)),
        must("kind", words("materialkind", "hook bead thread body rib wing hackle tail wire resin ballast")),
        must("name", sa.String(200)),
        may("size", sa.String(200), "in the trade's own units"),
        may("colour", sa.String(200)),
        may("density_kg_m3", sa.Float(), "kg/m3"),
        may("diameter_m", sa.Float(), "m; of wire, thread and ballast"),
        must("unit", words("unit", "piece turn mm g mg drop"), "of stock and pack"),
        may("pack_amount", sa.Float(), "in units"),
        may("pack_price", sa.Numeric(12, 2), "in the catalog's currency"),
        must("notes", sa.Text()),
        *limited("material", ">", "density_kg_m3", "diameter_m", "pack_amount"),
        *limited("material", ">=", "pack_price"),
        sa.CheckConstraint(
            "(pack_price IS NULL AND pack_amount IS NULL) OR (pack_price IS NOT NULL AND pack_amount IS NOT NULL)",
            op.f("ck_material_pack_price_together"),
        ),
        sa.PrimaryKeyConstraint("id", name="pk_material"),
        sa.UniqueConstraint("code", name="uq_material_code"),
    )
    op.create_index("ix_material_kind", "material", ["kind"])


def _pattern() -> None:
    op.create_table(
        "pattern",
        must("id", sa.Integer()),
        must("code", sa.String(40)),
        must("name", sa.String(200)),
        must("style", words("style", "slick ribbed dubbed hackled soft bulky")),
        must("notes", sa.Text()),
        sa.PrimaryKeyConstraint("id", name="pk_pattern"),
        sa.UniqueConstraint("code", name="uq_pattern_code"),
    )
    op.create_index("ix_pattern_style", "pattern", ["style"])


def _setting() -> None:
    op.create_table(
        "setting",
        must("key", sa.String(40)),
        must("value", sa.String(200)),
        sa.PrimaryKeyConstraint("key", name="pk_setting"),
    )


def _bead() -> None:
    op.create_table(
        "bead",
        must("material_id", sa.Integer()),
        must("diameter_m", sa.Float(), "m"),
        must("metal", words("metal", "tungsten brass copper steel tin lead glass")),
        must("bore", words("bore", "straight countersunk slotted reversed")),
        may("bore_diameter_m", sa.Float(), "m"),
        may("mouth_diameter_m", sa.Float(), "m; wide end of the bore"),
        may("mouth_depth_m", sa.Float(), "m"),
        may("slot_width_m", sa.Float(), "m"),
        may("mass_kg", sa.Float(), "kg, from the geometry"),
        may("mass_u_kg", sa.Float(), "kg, standard uncertainty"),
        may("weighed_kg", sa.Float(), "kg, weighed; goes before mass_kg"),
        may("weighed_u_kg", sa.Float(), "kg, standard uncertainty"),
        *limited(
            "bead",
            ">",
            "diameter_m",
            "bore_diameter_m",
            "mouth_diameter_m",
            "mouth_depth_m",
            "slot_width_m",
            "mass_kg",
            "weighed_kg",
        ),
        *limited("bead", ">=", "mass_u_kg", "weighed_u_kg"),
        refers("bead", "material_id", "material.id", "CASCADE"),
        sa.PrimaryKeyConstraint("material_id", name="pk_bead"),
    )
    op.create_index("ix_bead_diameter_m", "bead", ["diameter_m"])


def _hook() -> None:
    op.create_table(
        "hook",
        must("material_id", sa.Integer()),
        must("size", sa.Integer(), "trade number"),
        may("gape_m", sa.Float(), "m"),
        may("shank_m", sa.Float(), "m"),
        may("wire_diameter_m", sa.Float(), "m"),
        may("mass_kg", sa.Float(), "kg, weighed"),
        *limited("hook", ">", "gape_m", "shank_m", "wire_diameter_m", "mass_kg"),
        sa.CheckConstraint("size BETWEEN 1 AND 32", op.f("ck_hook_size")),
        refers("hook", "material_id", "material.id", "CASCADE"),
        sa.PrimaryKeyConstraint("material_id", name="pk_hook"),
    )
    op.create_index("ix_hook_size", "hook", ["size"])


def _material_movement() -> None:
    op.create_table(
        "material_movement",
        must("id", sa.Integer()),
        must("material_id", sa.Integer()),
        must("at", sa.DateTime(), "UTC"),
        must("amount", sa.Float(), "in units, negative when it goes"),
        must("why", words("why", "tied bought used sold given lost returned counted")),
        must("note", sa.String(200)),
        sa.CheckConstraint(
            "amount <> 0 AND amount > -1e12 AND amount < 1e12", op.f("ck_material_movement_amount")
        ),
        refers("material_movement", "material_id", "material.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_material_movement"),
    )
    op.create_index("ix_material_movement_sum", "material_movement", ["material_id", "amount"])


def _photo() -> None:
    op.create_table(
        "photo",
        must("id", sa.Integer()),
        must("pattern_id", sa.Integer()),
        must("position", sa.Integer(), "from 1"),
        must("name", sa.String(200), "file name without a folder"),
        must("sha256", sa.String(64)),
        must("content", sa.LargeBinary()),
        refers("photo", "pattern_id", "pattern.id", "CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_photo"),
        sa.UniqueConstraint("pattern_id", "name", name="uq_photo_pattern_id"),
    )


def _step() -> None:
    op.create_table(
        "step",
        must("id", sa.Integer()),
        must("pattern_id", sa.Integer()),
        must("position", sa.Integer(), "from 1"),
        must(
            "part", words("part", "hook bead ballast thread tail body rib wing hackle collar coating finish")
        ),
        may("material_id", sa.Integer()),
        may("amount", sa.Float(), "in the step's unit"),
        may("unit", words("unit", "piece turn mm g mg drop")),
        must("text", sa.Text()),
        *limited("step", ">", "amount"),
        sa.CheckConstraint(
            "(amount IS NULL AND unit IS NULL) OR (amount IS NOT NULL AND unit IS NOT NULL)",
            op.f("ck_step_amount_together"),
        ),
        refers("step", "pattern_id", "pattern.id", "CASCADE"),
        refers("step", "material_id", "material.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_step"),
        sa.UniqueConstraint("pattern_id", "position", name="uq_step_pattern_id"),
    )
    op.create_index("ix_step_material_id", "step", ["material_id"])


def _variant() -> None:
    op.create_table(
        "variant",
        must("id", sa.Integer()),
        must("code", sa.String(40)),
        must("pattern_id", sa.Integer()),
        must("hook_id", sa.Integer()),
        may("bead_id", sa.Integer()),
        may("based_on_id", sa.Integer()),
        may("price", sa.Numeric(12, 2), "in the catalog's currency"),
        must("notes", sa.Text()),
        *limited("variant", ">=", "price"),
        sa.CheckConstraint("based_on_id IS NULL OR based_on_id <> id", op.f("ck_variant_own_base")),
        refers("variant", "pattern_id", "pattern.id", "RESTRICT"),
        refers("variant", "hook_id", "hook.material_id", "RESTRICT"),
        refers("variant", "bead_id", "bead.material_id", "RESTRICT"),
        refers("variant", "based_on_id", "variant.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_variant"),
        sa.UniqueConstraint("code", name="uq_variant_code"),
    )
    op.create_index("ix_variant_based_on_id", "variant", ["based_on_id"])
    op.create_index("ix_variant_bead_id", "variant", ["bead_id"])
    op.create_index("ix_variant_hook_id", "variant", ["hook_id"])
    op.create_index("ix_variant_pattern_id", "variant", ["pattern_id"])


def _fly_movement() -> None:
    op.create_table(
        "fly_movement",
        must("id", sa.Integer()),
        must("variant_id", sa.Integer()),
        must("at", sa.DateTime(), "UTC"),
        must("amount", sa.Integer(), "flies, negative when they go"),
        must("why", words("why", "tied bought used sold given lost returned counted")),
        must("note", sa.String(200)),
        sa.CheckConstraint("amount <> 0 AND abs(amount) <= 1000000", op.f("ck_fly_movement_amount")),
        refers("fly_movement", "variant_id", "variant.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_fly_movement"),
    )
    op.create_index("ix_fly_movement_sum", "fly_movement", ["variant_id", "amount"])


def _variant_change() -> None:
    op.create_table(
        "variant_change",
        must("id", sa.Integer()),
        must("variant_id", sa.Integer()),
        must("position", sa.Integer(), "of the pattern's step"),
        may("material_id", sa.Integer()),
        may("amount", sa.Float(), "in the step's unit; 0 leaves it out"),
        *limited("variant_change", ">=", "amount"),
        refers("variant_change", "variant_id", "variant.id", "CASCADE"),
        refers("variant_change", "material_id", "material.id", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name="pk_variant_change"),
        sa.UniqueConstraint("variant_id", "position", name="uq_variant_change_variant_id"),
    )
    op.create_index("ix_variant_change_material_id", "variant_change", ["material_id"])
