"""The catalog's place, soundness, backup and restoring: in words and machine forms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from flybench.catalog.shelf.check import Finding
from flybench.jobs.shelf.safekeeping import Place, Restored
from flybench.telling.table import paragraph
from flybench.telling.wording import counted

_MB = 1e6


def place_lines(place: Place) -> list[str]:
    """Return where the catalog is and what is there."""
    if place.revision is None:
        return [place.name, "  There is no catalog yet; it is made when something is first put in."]
    size = "" if place.size_bytes is None else f", {place.size_bytes / _MB:.1f} MB"
    return [place.name, f"  {place.kind}{size}, version {place.revision} of the tables"]


def place_record(place: Place) -> dict[str, Any]:
    """Return the machine form of where the catalog is; revision null where there is none."""
    return asdict(place)


def check_lines(findings: Sequence[Finding]) -> list[str]:
    """Return whether the catalog is sound, then each fault and what to do."""
    if not findings:
        return ["SOUND: nothing is wrong with the catalog."]
    faults = [
        paragraph(f"{found.kind}: {found.where}: {found.problem}", "", "  ").splitlines()
        for found in findings
    ]
    return [
        f"NOT SOUND: {counted(len(findings), 'fault')} found.",
        *(line for fault in faults for line in fault),
        "Put back a backup from before the fault with: flybench catalog restore FILE",
    ]


def check_record(findings: Sequence[Finding]) -> dict[str, Any]:
    """Return the machine form of a check."""
    return {"sound": not findings, "findings": [asdict(found) for found in findings]}


def restored_record(done: Restored) -> dict[str, Any]:
    """Return the machine form of a catalog put back: ``kept`` is where the one before it is, null for none."""
    return {
        "catalog": done.name,
        "restored": str(done.source),
        "kept": None if done.kept is None else str(done.kept),
    }
