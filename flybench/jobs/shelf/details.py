"""What belongs to a thing besides its own fields: steps of a pattern, materials of a variant, runs of a fly."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.needed import needed_for
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly, RunDrop
from flybench.catalog.tables.patterns import Pattern, Variant

Details = dict[str, list[dict[str, Any]]]
"""Rows of plain values by what they are: steps, photos, variants, takes (materials of one fly), flies, runs."""


def details_of(catalog: Catalog, noun: str, code: str | int) -> Details:
    """Return lists of what belongs to a pattern, variant, fly or run, by heading; SI values, empty lists left out."""
    with catalog.reading() as session:
        row = session.get(BenchRun, code) if isinstance(code, int) else get(session, NOUNS[noun], code)
        found = _of(session, row)
    return {heading: rows for heading, rows in found.items() if rows}


def _of(session: Session, row: Any) -> Details:
    if isinstance(row, Pattern):
        return {
            "steps": _steps(row),
            "photos": _photos(row),
            "variants": _variants(row),
        }
    if isinstance(row, Variant):
        flies = session.scalars(select(Fly.code).where(Fly.variant_id == row.id).order_by(Fly.code))
        return {"takes": _takes(row), "photos": _photos(row), "flies": [{"code": code} for code in flies]}
    if isinstance(row, Fly):
        return {"photos": _photos(row), "runs": [_run(run) for run in row.runs]}
    if isinstance(row, BenchRun):
        return {"each_drop": [_drop(drop) for drop in row.drops]}
    return {}


def _photos(row: Pattern | Variant | Fly) -> list[dict[str, Any]]:
    return [{"name": one.name} for one in row.photos]


def _steps(pattern: Pattern) -> list[dict[str, Any]]:
    return [
        {
            "step": step.position,
            "part": step.part.value,
            "material": None if step.material is None else step.material.code,
            "amount": step.amount,
            "unit": None if step.unit is None else step.unit.value,
            "text": step.text,
        }
        for step in pattern.steps
    ]


def _variants(pattern: Pattern) -> list[dict[str, Any]]:
    return [
        {
            "code": one.code,
            "hook": one.hook.material.code,
            "bead": None if one.bead is None else one.bead.material.code,
        }
        for one in pattern.variants
    ]


def _takes(variant: Variant) -> list[dict[str, Any]]:
    return [
        {
            "part": need.part.value,
            "material": need.material.code,
            "name": need.material.name,
            "amount": need.amount,
            "unit": None if need.unit is None else need.unit.value,
        }
        for need in needed_for(variant)
    ]


def _drop(drop: RunDrop) -> dict[str, Any]:
    return {
        "number": drop.number,
        "used": drop.used,
        "sink_speed_m_s": drop.sink_speed_m_s,
        "uncertainty_m_s": drop.uncertainty_m_s,
        "flags": drop.flags,
    }


def _run(run: BenchRun) -> dict[str, Any]:
    return {
        "number": run.id,
        "clip": run.clip_name,
        "verdict": run.verdict.value,
        "accepted": run.accepted,
        "drops_used": run.drops_used,
    }
