"""The demo: the whole job on the shipped clips, into a folder of its own.

The clips are rendered from the equations of motion, not filmed, and flies and numbers are invented; so the
truth is known and is shown beside what was measured.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from flybench.bench.result import COVERAGE_FACTOR
from flybench.errors import FlybenchError
from flybench.jobs.card import make_card
from flybench.jobs.files import check_writable, whole_file
from flybench.jobs.measure import Wanted, measure_clip, settings_for
from flybench.jobs.tell import verdict_line
from flybench.quantity import speed_text

Progress = Callable[[str, int, int], None]
Say = Callable[[str], None]

DRAWN = "moss-hackle"
"""The clip whose track is also drawn into an overlay."""


@dataclass(frozen=True)
class DemoFly:
    """What was measured of one demo fly and what is true of it [m/s]."""

    name: str
    verdict: str
    measured: str
    truth: float
    holds: bool
    report: Path


def shipped_clips() -> Path:
    """Return the folder of the demo clips: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "demo_data", package.parent / "bench_videos" / "clips"):
        if folder.is_dir():
            return folder
    raise FlybenchError(f"{package / 'demo_data'}: the demo clips are missing. Install flybench again.")


def run_demo(folder: Path | None, say: Say, progress: Progress) -> tuple[Path, list[DemoFly]]:
    """Print the card, measure every shipped clip, and draw reports and an overlay into ``folder``.

    Without a folder a new one is made among the system's temporary files. Raises FlybenchError where the
    folder cannot be written to.
    """
    place = _place(folder)
    card = make_card(output=place / "scale-card-a4.pdf", overwrite=True).path
    say(f"1. The scale card to print and stand in the tank: {card.name}")
    flies = []
    for number, clip in enumerate(sorted(shipped_clips().glob("*.mp4")), 2):
        say(f"{number}. {clip.stem}: a rendered clip of an invented fly, with its sheet")
        flies.append(_measured(clip, place, progress))
        say(f"   {flies[-1].verdict}")
    return place, flies


def _place(folder: Path | None) -> Path:
    if folder is None:
        return Path(tempfile.mkdtemp(prefix="flybench-demo-"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FlybenchError(f"{folder}: cannot be made ({error.strerror}). Name another folder.") from error
    return folder


def _measured(clip: Path, place: Path, progress: Progress) -> DemoFly:
    """Copy one clip and its sheet, measure it as a user would, and look up the truth."""
    for ending in (".mp4", ".toml", ".truth.json"):
        copy = place / f"{clip.stem}{ending}"
        check_writable(copy)
        with whole_file(copy) as part:
            shutil.copyfile(clip.with_suffix(ending), part)
    mine = place / clip.name
    reports = [place / f"{clip.stem}.png", place / f"{clip.stem}.pdf"]
    overlay = place / f"{clip.stem}-drawn.mp4" if clip.stem == DRAWN else None
    wanted = Wanted(reports, overlay, place / f"{clip.stem}.json")
    result = measure_clip(mine, settings_for(mine, None, {}), wanted, progress).result
    truth = float(json.loads(clip.with_suffix(".truth.json").read_text(encoding="utf-8"))["sink_speed_m_s"])
    speed, doubt = result.sink_speed, result.standard_uncertainty
    if speed is None or doubt is None:
        return DemoFly(clip.stem, verdict_line(result), "no sink speed", truth, False, reports[0])
    expanded = COVERAGE_FACTOR * doubt
    told = speed_text(speed, expanded)
    return DemoFly(clip.stem, verdict_line(result), told, truth, abs(speed - truth) <= expanded, reports[0])
