"""Fields of tied flies and of bench runs."""

from __future__ import annotations

from sqlalchemy import func, select

from flybench.catalog.search.fields import MG, MM, Field, Noun, fields_of, speed_fields
from flybench.catalog.search.pattern_fields import BEAD_NAME, HOOK_NAME, OF_VARIANT
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed
from flybench.catalog.tables.materials import Bead, Hook
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.vocabulary import Verdict

_VARIANT = Field(
    "variant", "code", "Variant", Variant.code.expression, "variant", target="variant", needed=True
)
_PATTERN = Field("pattern", "code", "Pattern", Pattern.code.expression, target="pattern")


def _mass(name: str, what: str, column: str) -> tuple[Field, Field]:
    value, spread = getattr(Fly, f"{column}_kg"), getattr(Fly, f"{column}_u_kg")
    return (
        Field(
            name,
            "quantity",
            what,
            value.expression,
            f"{column}_kg",
            "kg",
            MG,
            low=1e-6,
            high=0.02,
            plus_minus=f"{name}-u",
        ),
        Field(
            f"{name}-u",
            "quantity",
            f"Standard uncertainty of {name}",
            spread.expression,
            unit="kg",
            display=MG,
            hidden=True,
        ),
    )


FLY = Noun(
    "fly",
    "flies",
    "Tied specimens",
    Fly,
    fields_of(
        Field("code", "text", "Short name, unique", Fly.code.expression, "code", needed=True),
        _VARIANT,
        _PATTERN,
        *(
            Field(
                old.name,
                old.kind,
                old.what,
                old.column,
                unit=old.unit,
                display=old.display,
                choices=old.choices,
            )
            for old in OF_VARIANT
            if old.name != "pattern"
        ),
        Field("tied", "date", "Tied on", Fly.tied_on.expression, "tied_on"),
        *_mass("mass", "Mass, dry", "mass"),
        *_mass("mass-in-water", "Reading of the scale under water", "mass_in_water"),
        Field(
            "length",
            "quantity",
            "Length, bead to tail",
            Fly.length_m.expression,
            "length_m",
            "m",
            MM,
            low=1e-3,
            high=0.15,
        ),
        *speed_fields(
            "sink",
            "Free-water sink speed",
            FlySpeed.free_speed_m_s.expression,
            FlySpeed.free_uncertainty_m_s.expression,
        ),
        Field("runs", "count", "Accepted bench runs", func.coalesce(FlySpeed.runs, 0)),
        Field("drops", "count", "Drops in them", func.coalesce(FlySpeed.drops, 0)),
        Field("retired", "date", "Retired on", Fly.retired_on.expression, "retired_on"),
        Field("notes", "text", "Notes", Fly.notes.expression, "notes"),
    ),
    select(Fly.id)
    .join(Variant, Variant.id == Fly.variant_id)
    .join(Pattern, Pattern.id == Variant.pattern_id)
    .join(Hook, Hook.material_id == Variant.hook_id)
    .join(HOOK_NAME, HOOK_NAME.id == Variant.hook_id)
    .outerjoin(Bead, Bead.material_id == Variant.bead_id)
    .outerjoin(BEAD_NAME, BEAD_NAME.id == Variant.bead_id)
    .outerjoin(FlySpeed, FlySpeed.fly_id == Fly.id),
    ("code", "variant", "name", "style", "hook", "bead", "mass", "sink", "runs", "drops"),
    (Fly.code.expression, Fly.notes.expression),
)


RUN = Noun(
    "run",
    "runs",
    "Bench runs",
    BenchRun,
    fields_of(
        Field("number", "count", "Number of the run", BenchRun.id.expression),
        Field("fly", "code", "Fly", Fly.code.expression, target="fly"),
        Field("variant", "code", "Variant", Variant.code.expression, target="variant"),
        Field("pattern", "code", "Pattern", Pattern.code.expression, target="pattern"),
        Field("clip", "text", "Name of the clip", BenchRun.clip_name.expression),
        Field("when", "time", "Measured at", BenchRun.measured_at.expression),
        Field("verdict", "choice", "Verdict of the bench", BenchRun.verdict.expression, choices=Verdict),
        Field("accepted", "flag", "Counts towards the fly's speed", BenchRun.accepted.expression),
        Field("why", "text", "Why it was set aside", BenchRun.set_aside_why.expression),
        *speed_fields(
            "tank",
            "Sink speed in the tank",
            BenchRun.sink_speed_m_s.expression,
            BenchRun.uncertainty_m_s.expression,
        ),
        *speed_fields(
            "sink",
            "Free-water sink speed",
            BenchRun.free_speed_m_s.expression,
            BenchRun.free_uncertainty_m_s.expression,
        ),
        Field("drops", "count", "Drops used", BenchRun.drops_used.expression),
        Field("software", "text", "Version that measured", BenchRun.software.expression),
        Field("flags", "words", "Flags", BenchRun.flags.expression),
        Field("sha256", "text", "Of the clip", BenchRun.clip_sha256.expression, hidden=True),
    ),
    select(BenchRun.id)
    .join(Fly, Fly.id == BenchRun.fly_id)
    .join(Variant, Variant.id == Fly.variant_id)
    .join(Pattern, Pattern.id == Variant.pattern_id),
    ("number", "fly", "clip", "when", "verdict", "accepted", "tank", "sink", "drops"),
    (Fly.code.expression, BenchRun.clip_name.expression, BenchRun.set_aside_why.expression),
    sort="number",
    key="number",
)
