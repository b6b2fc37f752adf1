"""A flag: one thing that makes a result doubtful, what it means and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """How much a flag matters: a note leaves the result as it is, a doubt weakens it, a refusal takes it away."""

    NOTE = "note"
    DOUBT = "doubt"
    REFUSAL = "refusal"


@dataclass(frozen=True)
class Flag:
    """A flag's meaning and cure, each in whole sentences; ``weight`` says how much it matters."""

    weight: Weight
    meaning: str
    cure: str
