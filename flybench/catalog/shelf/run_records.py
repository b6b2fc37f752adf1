"""Bench runs as plain records: what is handed to the shelf, and what pooling takes and gives."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple


@dataclass(frozen=True)
class DropRecord:
    """One drop; fields as in the table of drops."""

    number: int
    start_s: float
    end_s: float
    frames_used: int
    sink_speed_m_s: float | None
    uncertainty_m_s: float | None
    fit_uncertainty_m_s: float | None
    start_speed_m_s: float | None
    response_time_s: float | None
    terminal_share: float | None
    path_tilt_deg: float
    residual_rms_mm: float | None
    used: bool
    flags: list[str]


@dataclass(frozen=True)
class RunRecord:
    """One bench run; fields as in the table of runs, no speed where it was refused."""

    clip_name: str
    clip_sha256: str
    measured_at: datetime
    software: str
    verdict: str
    sink_speed_m_s: float | None
    uncertainty_m_s: float | None
    free_speed_m_s: float | None
    free_uncertainty_m_s: float | None
    shared_uncertainty_m_s: float | None
    temperature_k: float
    drops_used: int
    flags: list[str]
    sheet: dict[str, Any]
    result: dict[str, Any]
    track: bytes
    track_sha256: str
    drops: list[DropRecord]


@dataclass(frozen=True)
class RunSpeed:
    """A run that counts, as pooling takes it: free-water speed and its standard uncertainty [m/s], of which ``shared`` is
    the part that other runs may share, None where that is not known; water [K]; drops used.

    tank_speed, before the walls were taken out [m/s]; budget, the lines of its uncertainty as the machine form has them;
    sheet and picture (width, height, turn of the clip), which tell the set-up; day, on which it was filmed, where the file
    does not say so that on which it was measured; clip, the SHA-256 of what was filmed, "" where nothing was; place, the
    name of the set-up that its sheet was filled from, "" where none was named.
    """

    number: int
    fly: str
    variant: str
    speed: float
    uncertainty: float
    shared: float | None
    temperature: float
    drops: int
    tank_speed: float
    day: date
    sheet: Mapping[str, Any]
    budget: Sequence[Mapping[str, Any]]
    picture: tuple[Any, ...]
    clip: str = ""
    place: str = ""


class CountedRecord(NamedTuple):
    """A run that counts as it is kept for pooling: fields as in the table of counted runs, codes for fly and variant."""

    number: int
    fly: str
    variant: str
    speed: float
    temperature: float
    salinity: float
    drops: int
    own: float
    shares: list[Any]
    clip: str
    correction: float = 1.0
    correction_doubt: float = 0.0
    brought_to: float | None = None


@dataclass(frozen=True)
class PooledFly:
    """Free-water speed of a fly with its standard uncertainty [m/s], water [K], runs and drops; side, what the uncertainty
    is made of, packed; brought, whether a run of it was brought to the water of the others."""

    speed: float
    uncertainty: float
    temperature: float
    runs: int
    drops: int
    side: bytes = b""
    brought: bool = False


@dataclass(frozen=True)
class PooledVariant:
    """Free-water speed of a variant with its standard uncertainty [m/s], the standard deviation between its
    flies [m/s] (None for a single one), water [K], and how many flies it is pooled over; side and brought as of a fly."""

    speed: float
    uncertainty: float
    between: float | None
    temperature: float
    flies: int
    side: bytes = b""
    brought: bool = False


@dataclass(frozen=True)
class PooledShop:
    """Every measured fly and variant of a catalog, by code."""

    flies: Mapping[str, PooledFly]
    variants: Mapping[str, PooledVariant]


Pool = Callable[[Collection[int]], None]
"""Brings the pooled speeds of a catalog in step after runs of the variants with these numbers changed; what one fly shows
of spreads is used for all."""
