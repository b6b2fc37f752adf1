"""The demo: the whole job on the shipped clips and in an invented shop, into a folder of its own.

The clips are rendered and the runs of the shop simulated from the equations of motion, not filmed, and flies and numbers
are invented; so the truth is known and is shown beside what was measured and predicted.
"""

from __future__ import annotations

import json
import math
import shutil
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from flybench.bench.verdict.result import BenchResult
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.charts.side_view import drift_picture
from flybench.errors import FlybenchError
from flybench.files import check_writable, whole_file
from flybench.hydraulics.water import Water
from flybench.jobs.bench.card import make_card
from flybench.jobs.bench.measure import Wanted, measure_clip, settings_for, tables_for
from flybench.jobs.demo_shop import (
    TRUE_AT,
    DemoShop,
    fitted_meanwhile,
    put_on_the_shelf,
    read_shop,
    save_runs,
)
from flybench.jobs.printed.labels import print_labels
from flybench.jobs.river.box import box_from_catalog
from flybench.jobs.river.rigs import choose_rig, drift_of_choice
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.runs import save_run
from flybench.jobs.sink.ladder import ladder
from flybench.jobs.sink.predict import Wish, predict
from flybench.paper.label.label_paper import DEFAULT_LABEL_PAPER, label_paper_named
from flybench.quantity import COVERAGE_FACTOR, parse
from flybench.shop.river.rig_texts import RigTexts
from flybench.shop.speeds.ladder import Rung

Progress = Callable[[str, int, int], None]
Tell = Callable[["Step"], None]

CATALOG = "catalog.sqlite"
RIVERS = (
    RigTexts(depth="1.1 m", surface_speed="0.4 m/s", temperature="8 degC", bed="sand"),
    RigTexts(depth="1.2 m", surface_speed="0.5 m/s", temperature="8 degC", bed="gravel"),
    RigTexts(depth="1.3 m", surface_speed="0.6 m/s", temperature="6 degC", bed="cobble"),
)
"""The invented waters of the demo: a glide, a run of a walking pace, and a deep one."""
BOX = ("F21", "F19", "F15", "F04")
"""The flies that the demo's angler carries, from a slow one to a fast one."""
UNTIED = ("gatepost-whisker-14", "slow-curtain-12", "toll-rung-12", "dunnage-grub-10", "cinder-ladder-16")
"""Variants of which the demo has no fly."""
DRAWN = "moss-hackle"
"""The clip whose track is also drawn into an overlay."""
FLIES = {"moss-hackle": "moss-hackle-12", "reed-slip": "reed-slip-12", "slate-plump": "slate-plump-10"}
"""The variant of which each clip shows a fly."""


@dataclass(frozen=True)
class Heading:
    """A part of the demo begins: its number, which part it is, and the name of its file or clip."""

    number: int
    part: Literal["card", "clip", "shop", "untied", "rivers"]
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
class ShelfSeen:
    """The shop once its runs are saved: how many runs gave a speed, the rungs of its ladder, the ties among them, of how many
    flies the truth is known, and of how many of these it lies within the ladder's expanded uncertainty."""

    runs: int
    rungs: Sequence[Rung]
    ties: int
    known: int
    inside: int


@dataclass(frozen=True)
class Untied:
    """A variant that is not tied yet: its predicted speed, the interval of 95 of 100 such flies, and what is true [m/s]."""

    code: str
    predicted: float
    interval: tuple[float, float]
    truth: float


@dataclass(frozen=True)
class RiverSeen:
    """A water and the rig to tie on there; ``down`` is the share of drifts in which the flies are down within ``landing``
    [m]."""

    water: RigTexts
    point: str
    dropper: str
    down: float
    landing: float


Step = Heading | DemoFly | ShelfSeen | list[Untied] | RiverSeen


def shipped_clips() -> Path:
    """Return the folder of the demo clips: inside the installed package, or beside it in a checkout."""
    return _shipped("demo_data", Path("bench_videos") / "clips")


def shipped_shop() -> Path:
    """Return the folder of the invented shop with its simulated runs."""
    return _shipped("demo_shop", Path("bench_videos") / "shop")


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
    """Print the card, measure every shipped clip, draw reports and an overlay into ``folder``, keep shop, and ask the river.

    ``tell`` hears of every step. Without a folder a new one is made among the system's temporary files. Raises
    FlybenchError where the folder cannot be written to or is not empty.
    """
    place = _place(folder)
    catalog, shop = _catalog(place), read_shop(shipped_shop())
    put_on_the_shelf(catalog, shop)
    with fitted_meanwhile(catalog, shop) as fitted:
        tell(Heading(1, "card", make_card(output=place / "scale-card-a4.pdf").path.name))
        flies = []
        for number, clip in enumerate(sorted(shipped_clips().glob("*.mp4")), 2):
            tell(Heading(number, "clip", clip.stem))
            flies.append(_measured(clip, place, progress, catalog))
            tell(flies[-1])
        tell(Heading(len(flies) + 2, "shop"))
        tell(_seen(catalog, shop, save_runs(catalog, shop, fitted)))
    tell(Heading(len(flies) + 3, "untied"))
    tell(_untied(catalog, shop))
    paper = label_paper_named(DEFAULT_LABEL_PAPER)
    print_labels(catalog, [], paper, place / "labels.pdf", overwrite=True, predict=True)
    tell(Heading(len(flies) + 4, "rivers"))
    for water in RIVERS:
        tell(_at_the_river(catalog, water, place / "drift.png"))
    return place, flies


def _seen(catalog: Catalog, shop: DemoShop, runs: int) -> ShelfSeen:
    """Return the ladder of the shop, its measured flies beside what is true of them."""
    found = ladder(catalog)
    known = [(rung, shop.true_flies[rung.code]) for rung in found.rungs if rung.code in shop.true_flies]
    inside = sum(abs(rung.speed - truth) <= rung.expanded for rung, truth in known)
    return ShelfSeen(runs, found.rungs, len(found.ties), len(known), inside)


def _untied(catalog: Catalog, shop: DemoShop) -> list[Untied]:
    """Return variants that nobody tied yet, predicted from the shop's flies for the water of their truth."""
    found = predict(catalog, Wish(variants=UNTIED), temperature=parse(TRUE_AT, "K", "--temperature"))
    return [
        Untied(one.build.code, one.forecast.speed, one.forecast.interval, shop.true_variants[one.build.code])
        for one in found.flies
    ]


def _at_the_river(catalog: Catalog, river: RigTexts, picture: Path) -> RiverSeen:
    """Return what to tie on of the box in one water, and draw the drift; the last water's picture stays."""
    water = Water(parse(river.temperature, "K", "--temperature"))
    box = box_from_catalog(lambda: catalog, [], water)
    found = choose_rig(replace(box, flies=[fly for fly in box.flies if fly.name in BOX]), river)
    best = found.choice.advised
    dropper, point = best.names
    seen = drift_of_choice(found, best.names)
    with whole_file(picture) as part:
        drift_picture(seen.drift, seen.goal.level, seen.current, seen.rig.tackle).write(part)
    down, landing = found.goal.down, best.landing
    if math.isinf(landing):
        down, landing = best.in_time, found.goal.farthest
    return RiverSeen(river, point, dropper, down, landing)


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
