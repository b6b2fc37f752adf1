"""Whether the catalog is sound: each fault and what to do, and machine form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from flybench.catalog.shelf.check import Finding
from flybench.telling.table import paragraph
from flybench.telling.wording import counted


def lines(findings: Sequence[Finding]) -> list[str]:
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


def record(findings: Sequence[Finding]) -> dict[str, Any]:
    """Return the machine form of a check."""
    return {"sound": not findings, "findings": [asdict(found) for found in findings]}
