"""What is true of a rendered clip: every frame's instant, and of every drop its fall."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DropTruth:
    """One fall, over the frames that show the fly sinking within the picture."""

    terminal_speed_m_s: float
    response_time_s: float
    start_speed_m_s: float
    release_s: float
    landing_s: float
    frames: NDArray[np.int64]
    """Numbers of the frames, from 0, dropped ones not counted."""
    time_s: Floats
    """Instant at which the fly itself was imaged, real time from the first frame."""
    x_m: Floats
    y_m: Floats
    """Down from the nominal top of the card's squares."""
    depth_m: Floats
    """From the inner front face."""
    speed_m_s: Floats
    px: Floats
    py: Floats

    @property
    def start_s(self) -> float:
        """Return when the fall within view begins [s]."""
        return float(self.time_s[0]) if len(self.time_s) else float("nan")

    @property
    def end_s(self) -> float:
        """Return when the fall within view ends [s]."""
        return float(self.time_s[-1]) if len(self.time_s) else float("nan")


@dataclass(frozen=True)
class Truth:
    """The whole clip."""

    frame_time_s: Floats
    """Real time of each frame from the first."""
    stamp_s: Floats
    """Time stamp of each frame in the file."""
    px_per_m: float
    """At the plane of fall, level with the lens."""
    drops: tuple[DropTruth, ...]

    @property
    def sink_speed_m_s(self) -> float:
        """Return the mean terminal speed of the drops."""
        return float(np.mean([drop.terminal_speed_m_s for drop in self.drops]))

    def as_dict(self) -> dict[str, Any]:
        """Return plain lists and numbers, rounded to what a test can use."""
        drops = [
            {"start_s": round(drop.start_s, 6), "end_s": round(drop.end_s, 6)} | _plain(asdict(drop))
            for drop in self.drops
        ]
        told = _plain({"frame_time_s": self.frame_time_s, "stamp_s": self.stamp_s, "px_per_m": self.px_per_m})
        return {"sink_speed_m_s": self.sink_speed_m_s} | told | {"drops": drops}

    def write(self, path: Path) -> None:
        """Write the truth as JSON."""
        path.write_text(json.dumps(self.as_dict()) + "\n", encoding="utf-8")


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: np.round(value, 6).tolist() if isinstance(value, np.ndarray) else round(value, 6)
        for name, value in values.items()
    }
