"""Scenes at a kitchen table, rendered with known truth: what the bench says of each, over three seeds.

    python benchmarks/kitchen.py [AREA ...] [--seeds 1 2 3] [--only WORD] [--workers 2]

Wanted: used drops inside their k = 2 interval in 93 to 99 %; no drop outside three times that interval without a flag;
no clean clip refused, flagged or robbed of a drop; no wrong clip passed. Areas are the modules of tests/helpers/kitchen.
"""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
for folder in ("bench_videos", "tests/helpers"):
    sys.path.insert(0, str(ROOT / folder))

import kitchen  # noqa: E402
from kitchen.case import Case, Tried, tried  # noqa: E402

from flybench.bench.verdict.flags import doubts  # noqa: E402

FAR = 6.0
"""Standard uncertainties beyond which a drop is wrong [-]: three times the expanded uncertainty."""


@dataclass(frozen=True)
class Row:
    """One case with one seed, judged."""

    area: str
    name: str
    seed: int
    outcome: str
    said: str
    scores: list[float]
    errors: list[float]
    expanded: list[float]
    faults: list[str]


def cases(areas: list[str]) -> list[tuple[str, Case]]:
    """Return all cases of the areas, or of every area."""
    names = areas or [one.name for one in pkgutil.iter_modules(kitchen.__path__) if one.name != "case"]
    return [(name, case) for name in names for case in importlib.import_module(f"kitchen.{name}").CASES]


def row(area: str, number: int, seed: int) -> Row:
    """Render, measure and judge one case; to be run in a process of its own."""
    case = cases([area])[number][1]
    with tempfile.TemporaryDirectory() as work:
        got = tried(case, seed, Path(work), Path(work))
    errors, expanded = _precision(got)
    return Row(
        area, case.name, seed, case.outcome, _said(got), got.scores, errors, expanded, faults(case, got)
    )


def _precision(got: Tried) -> tuple[list[float], list[float]]:
    """Return each used drop's relative error and relative expanded uncertainty."""
    found = got.pairs
    return (
        [pair.error for pair in found],
        [2 * pair.measured.uncertainty / pair.truth.terminal_speed_m_s for pair in found],
    )


def _said(got: Tried) -> str:
    if got.result is None:
        return f"refused: {got.message}"
    flags = ", ".join(sorted(got.result.all_flags)) or "no flag"
    return f"{got.result.verdict}: {flags}"


def faults(case: Case, got: Tried) -> list[str]:
    """Return what is wrong with what the bench said; empty where it is right."""
    speed = None if got.result is None else got.result.sink_speed
    flags = [] if got.result is None else got.result.all_flags
    doubted = bool(doubts(flags))
    far = any(abs(score) > FAR for score in [*got.scores, got.score or 0.0])
    found = []
    if far and not doubted:
        found.append("outside three times its interval without a flag")
    if case.outcome in {"clean", "measured"} and speed is None:
        found.append("refused")
    if case.outcome == "clean" and speed is not None:
        if doubted:
            found.append("flagged")
        if len(got.scores) < len(got.truth.drops):
            found.append("a drop is missing")
    if case.outcome == "refused" and speed is not None:
        found.append("passed")
    if case.outcome in {"flagged", "doubted"} and speed is not None and not doubted:
        found.append("passed without a flag")
    if case.outcome == "flagged" and speed is not None and far:
        found.append("flagged, but the interval is far too small")
    if case.flags and flags and not case.flags & set(flags):
        found.append(f"none of the flags {', '.join(sorted(case.flags))}")
    return found


def main() -> None:
    """Run and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("areas", nargs="*")
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--only", default="", help="only cases whose name holds this word")
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    jobs = [
        (area, number, seed)
        for area in asked.areas or sorted({area for area, _ in cases([])})
        for number, (_, case) in enumerate(cases([area]))
        if asked.only in case.name
        for seed in asked.seeds
    ]
    rows = []
    with ProcessPoolExecutor(asked.workers) as pool:
        for one in pool.map(row, *zip(*jobs, strict=True)):
            rows.append(one)
            mark = "WRONG" if one.faults else "ok"
            worst = max(map(abs, one.scores), default=0.0)
            print(
                f"{mark:5} {one.area}/{one.name} #{one.seed} [{one.outcome}] {one.said[:110]} worst score {worst:.1f} "
                f"{'; '.join(one.faults)}",
                flush=True,
            )
    summary(rows)


def summary(rows: list[Row]) -> None:
    """Print the shares that are wanted."""
    used = np.array([score for one in rows if one.outcome in {"clean", "measured"} for score in one.scores])
    clean = [one for one in rows if one.outcome == "clean"]
    errors = np.array([error for one in clean for error in one.errors])
    expanded = np.array([error for one in clean for error in one.expanded])
    print(f"\n{len(rows)} clips, {sum(bool(one.faults) for one in rows)} with a fault")
    if len(used):
        print(
            f"used drops inside k = 2: {np.mean(np.abs(used) <= 2):.1%} of {len(used)}; worst score {abs(used).max():.1f}"
        )
    if len(errors):
        rms = float(np.sqrt(np.mean(errors**2)))
        print(
            f"clean clips: rms error {rms:.3%}, median U {np.median(expanded):.3%}, ratio {np.median(expanded) / rms:.1f}"
        )


if __name__ == "__main__":
    main()
