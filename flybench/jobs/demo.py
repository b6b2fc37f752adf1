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
from typing import Literal

from flybench.bench.verdict.result import BenchResult
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.charts.side_view import drift_picture
from flybench.errors import FlybenchError
from flybench.files import check_writable, whole_file
from flybench.jobs.bench.card import make_card
from flybench.jobs.bench.measure import Wanted, measure_clip, settings_for, tables_for
from flybench.jobs.printed.labels import print_labels
from flybench.jobs.river.box import box_from_catalog
from flybench.jobs.river.rigs import choose_rig, drift_of_choice
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.runs import save_run
from flybench.jobs.sink.other_water import in_other_water
from flybench.jobs.sink.predict import Wish, predict
from flybench.paper.label.label_paper import DEFAULT_LABEL_PAPER, label_paper_named
from flybench.quantity import COVERAGE_FACTOR, parse
from flybench.shop.river.rig_texts import RigTexts

Progress = Callable[[str, int, int], None]
Tell = Callable[["Step"], None]

CATALOG = "catalog.sqlite"
RIVER = RigTexts(depth="1.0 m", surface_speed="0.5 m/s", temperature="6 degC", bed="gravel")
"""The river of the demo: cold, shallow and of a walking pace."""
UNTIED = "moss-hackle-12s"
"""A variant of which the demo has no fly."""
DRAWN = "moss-hackle"
"""The clip whose track is also drawn into an overlay."""
FLIES = {"moss-hackle": "moss-hackle-12", "reed-slip": "reed-slip-12", "slate-plump": "slate-plump-10"}
"""The variant of which each clip shows a fly."""


@dataclass(frozen=True)
class Heading:
    """A part of the demo begins: its number, which part it is, and the name of its file or clip."""

    number: int
    part: Literal["card", "clip", "catalog", "river"]
    name: str = ""


@dataclass(frozen=True)
class DemoFly:
    """What was measured of one demo fly, what is true of it [m/s], and its report page."""

    name: str
    result: BenchResult
    truth: float
    report: Path

    @property
    def holds(self) -> bool:
        """Tell whether the truth lies inside the expanded uncertainty, k = 2."""
        speed, doubt = self.result.sink_speed, self.result.standard_uncertainty
        return speed is not None and doubt is not None and abs(speed - self.truth) <= COVERAGE_FACTOR * doubt


@dataclass(frozen=True)
class RiverSpeed:
    """What a measured speed becomes in the river: speed and standard uncertainty [m/s], and new over old [-]."""

    name: str
    speed: float
    uncertainty: float
    change: float


@dataclass(frozen=True)
class DemoRiver:
    """What the demo flies do in the river, a variant that is not tied yet, and the rig to tie on.

    ``predicted`` and ``interval`` (95 of 100 such flies) in m/s; ``in_time`` is the share of drifts in which the
    flies are down within ``target`` [m].
    """

    speeds: list[RiverSpeed]
    untied: str
    predicted: float
    interval: tuple[float, float]
    point: str
    dropper: str
    in_time: float
    target: float


Step = Heading | DemoFly | DemoRiver


def shipped_clips() -> Path:
    """Return the folder of the demo clips: inside the installed package, or beside it in a checkout."""
    return _shipped("demo_data", Path("bench_videos") / "clips")


def shipped_recipes() -> Path:
    """Return the folder of the invented recipes."""
    return _shipped("demo_recipes", Path("catalog"))


def _shipped(installed: str, checkout: Path) -> Path:
    package = Path(__file__).resolve().parents[1]
    for folder in (package / installed, package.parent / checkout):
        if folder.is_dir():
            return folder
    raise FlybenchError(f"{package / installed}: the demo data are missing. Install flybench again.")


def run_demo(folder: Path | None, tell: Tell, progress: Progress) -> tuple[Path, list[DemoFly]]:
    """Print the card, measure every shipped clip, draw reports and an overlay into ``folder``, and ask the river.

    ``tell`` hears of every step. Without a folder a new one is made among the system's temporary files. Raises
    FlybenchError where the folder cannot be written to or is not empty.
    """
    place = _place(folder)
    catalog = _catalog(place)
    tell(Heading(1, "card", make_card(output=place / "scale-card-a4.pdf").path.name))
    flies = []
    for number, clip in enumerate(sorted(shipped_clips().glob("*.mp4")), 2):
        tell(Heading(number, "clip", clip.stem))
        flies.append(_measured(clip, place, progress, catalog))
        tell(flies[-1])
    tell(Heading(len(flies) + 2, "catalog"))
    paper = label_paper_named(DEFAULT_LABEL_PAPER)
    print_labels(catalog, [], paper, place / "labels.pdf", overwrite=True, predict=True)
    tell(Heading(len(flies) + 3, "river"))
    tell(_at_the_river(catalog, place))
    return place, flies


def _at_the_river(catalog: Catalog, place: Path) -> DemoRiver:
    """Return what the measured flies do in a cold river, what to tie on, and one not tied yet; draw the drift."""
    there = in_other_water(catalog, [], parse(RIVER.temperature, "K", "--temperature"))
    speeds = [RiverSpeed(one.measured.fly, one.speed, one.uncertainty, one.change) for one in there.flies]
    new = predict(catalog, Wish(variants=(UNTIED,)), temperature=there.water.temperature).flies[0].forecast
    found = choose_rig(box_from_catalog(lambda: catalog, [], there.water), RIVER)
    best = found.choice.ranked[0]
    dropper, point = best.names
    seen = drift_of_choice(found, best.names, 8.0)
    drift_picture(seen.drift, seen.level, seen.current, seen.rig.tackle).write(place / "drift.png")
    return DemoRiver(speeds, UNTIED, new.speed, new.interval, point, dropper, best.in_time, found.aim.target)


def _catalog(place: Path) -> Catalog:
    """Make a fresh catalog of the invented recipes, with a fly for each clip."""
    catalog = open_catalog(str(place / CATALOG))
    import_recipes(catalog, [shipped_recipes()])
    for clip, variant in FLIES.items():
        add_row(catalog, NOUNS["fly"], {"code": clip, "variant": variant, "notes": "invented"})
    return catalog


def _place(folder: Path | None) -> Path:
    if folder is None:
        return Path(tempfile.mkdtemp(prefix="flybench-demo-"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FlybenchError(f"{folder}: cannot be made ({error.strerror}). Name another folder.") from error
    if any(folder.iterdir()):
        raise FlybenchError(
            f"{folder}: is not empty, and the demo replaces nothing. Name a new folder, or leave --folder out."
        )
    return folder


def _measured(clip: Path, place: Path, progress: Progress, catalog: Catalog) -> DemoFly:
    """Copy one clip and its sheet, measure it as a user would, and look up the truth."""
    for ending in (".mp4", ".toml", ".truth.json"):
        copy = place / f"{clip.stem}{ending}"
        check_writable(copy)
        with whole_file(copy) as part:
            shutil.copyfile(clip.with_suffix(ending), part)
    mine = place / clip.name
    reports = [place / f"{clip.stem}.png", place / f"{clip.stem}.pdf"]
    overlay = place / f"{clip.stem}-drawn.mp4" if clip.stem == DRAWN else None
    run = measure_clip(mine, settings_for(mine, None, {}), Wanted(reports, overlay), progress)
    save_run(catalog, clip.stem, run, tables_for(mine, None, {}))
    truth = json.loads(clip.with_suffix(".truth.json").read_text(encoding="utf-8"))["sink_speed_m_s"]
    return DemoFly(clip.stem, run.result, float(truth), reports[0])
