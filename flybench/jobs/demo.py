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

from flybench.bench.verdict.result import COVERAGE_FACTOR, BenchResult
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.errors import FlybenchError
from flybench.files import check_writable, whole_file
from flybench.jobs.bench.card import make_card
from flybench.jobs.bench.measure import Wanted, measure_clip, settings_for, tables_for
from flybench.jobs.printed.labels import labels_for, print_labels
from flybench.jobs.river.asked import Asked
from flybench.jobs.river.box import box_of
from flybench.jobs.river.pictures import plot_drift
from flybench.jobs.river.rigs import choose_rig, why
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.runs import save_run
from flybench.jobs.sink.other_water import in_other_water
from flybench.jobs.sink.predict import Wish, predict
from flybench.paper.label.papers import DEFAULT, sheet_named
from flybench.quantity import parse, speed_text
from flybench.rig.odds.aim import Aim

Progress = Callable[[str, int, int], None]
Say = Callable[[str], None]
Verdict = Callable[[BenchResult], str]
"""How a result is told in one line."""

CATALOG = "catalog.sqlite"
RIVER_TEXT = "a river of 6 °C, 1 m deep, 0.5 m/s at the surface, gravel"
UNTIED = "moss-hackle-12s"
"""A variant of which the demo has no fly."""
DRAWN = "moss-hackle"
"""The clip whose track is also drawn into an overlay."""
FLIES = {"moss-hackle": "moss-hackle-12", "reed-slip": "reed-slip-12", "slate-plump": "slate-plump-10"}
"""The variant of which each clip shows a fly."""


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


def run_demo(
    folder: Path | None, say: Say, progress: Progress, verdict: Verdict
) -> tuple[Path, list[DemoFly]]:
    """Print the card, measure every shipped clip, and draw reports and an overlay into ``folder``.

    Without a folder a new one is made among the system's temporary files. Raises FlybenchError where the
    folder cannot be written to.
    """
    place = _place(folder)
    catalog = _catalog(place)
    card = make_card(output=place / "scale-card-a4.pdf", overwrite=True).path
    say(f"1. The scale card to print and stand in the tank: {card.name}")
    flies = []
    for number, clip in enumerate(sorted(shipped_clips().glob("*.mp4")), 2):
        say(f"{number}. {clip.stem}: a rendered clip of an invented fly, with its sheet")
        flies.append(_measured(clip, place, progress, catalog, verdict))
        say(f"   {flies[-1].verdict}")
    say(
        f"{len(flies) + 2}. The catalog of invented flies, with these measured ones, and labels for their drawers"
    )
    print_labels(
        labels_for(catalog, [], predict=True), sheet_named(DEFAULT), place / "labels.pdf", 0, False, None
    )
    say(f"{len(flies) + 3}. What these speeds become: {RIVER_TEXT}")
    for line in _at_the_river(catalog, place):
        say(f"   {line}")
    return place, flies


def _at_the_river(catalog: Catalog, place: Path) -> list[str]:
    """Return in words what the measured flies do in a cold river, what to tie on, and one not tied yet."""
    asked = Asked(depth="1.0 m", surface_speed="0.5 m/s", temperature="6 degC", bed="gravel")
    there = in_other_water(catalog, [], parse("6 degC", "K", "temperature"))
    lines = [
        f"{one.sunk.fly}: {speed_text(one.speed, COVERAGE_FACTOR * one.uncertainty)} at 6 °C "
        f"({one.change - 1:+.1%})"
        for one in there.flies
    ]
    new = predict(catalog, Wish(variants=(UNTIED,)), temperature=there.water.temperature).flies[0]
    low, high = (end * 100 for end in new.forecast.interval)
    lines.append(
        f"{UNTIED}, not tied yet: predicted {new.forecast.speed * 100:.0f} cm/s, 95 of 100 such flies "
        f"{low:.0f} to {high:.0f}"
    )
    box = box_of(catalog, [], there.water)
    found = choose_rig(box, asked, Aim())
    best = found.choice.ranked[0]
    names = dict(zip(("dropper", "point"), best.names, strict=True))
    lines.append(
        f"for the river: point {names['point']}, dropper {names['dropper']}; down within 2.5 m in "
        f"{best.in_time:.0%} of drifts"
    )
    plot_drift(why(found, best.names, 8.0), place / "drift.png")
    return lines


def _catalog(place: Path) -> Catalog:
    """Make a fresh catalog of the invented recipes, with a fly for each clip."""
    for ending in ("", "-wal", "-shm"):
        (place / f"{CATALOG}{ending}").unlink(missing_ok=True)
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
    return folder


def _measured(clip: Path, place: Path, progress: Progress, catalog: Catalog, verdict: Verdict) -> DemoFly:
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
    run = measure_clip(mine, settings_for(mine, None, {}), wanted, progress)
    save_run(catalog, clip.stem, run, tables_for(mine, None, {}))
    result = run.result
    truth = float(json.loads(clip.with_suffix(".truth.json").read_text(encoding="utf-8"))["sink_speed_m_s"])
    speed, doubt = result.sink_speed, result.standard_uncertainty
    if speed is None or doubt is None:
        return DemoFly(clip.stem, verdict(result), "no sink speed", truth, False, reports[0])
    expanded = COVERAGE_FACTOR * doubt
    told = speed_text(speed, expanded)
    return DemoFly(clip.stem, verdict(result), told, truth, abs(speed - truth) <= expanded, reports[0])
