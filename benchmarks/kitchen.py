"""Scenes at a kitchen table, rendered with known truth: what the bench says of each, over three seeds.

    python benchmarks/kitchen.py [AREA ...] [--seeds 1 2 3] [--only WORD] [--workers 2]
                                 [--keep FILE [--any-code] [--again] [--table]]

Wanted: used drops inside their k = 2 interval in 93 to 99 %; no drop outside three times that interval without a flag;
no clean clip refused, flagged or robbed of a drop; no wrong clip passed. Areas are the modules of tests/helpers/kitchen.
All of it takes a good half hour of one processor: with ``--keep`` it goes on where it stopped.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import pkgutil
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
for folder in ("bench_videos", "tests/helpers"):
    sys.path.insert(0, str(ROOT / folder))

import kitchen  # noqa: E402
from kitchen.case import Case, Tried, tried  # noqa: E402
from kitchen_kept import Kept, Row, table  # noqa: E402

from flybench.bench.verdict.flags import doubts  # noqa: E402

FAR = 6.0
"""Standard uncertainties beyond which a drop is wrong [-]: three times the expanded uncertainty."""
JUDGED_BY = (
    "flybench/*.py",
    *(f"flybench/{layer}/**/*.py" for layer in ("bench", "sinking", "hydraulics", "statistics")),
    "bench_videos/**/*.py",
    "tests/helpers/kitchen/*.py",
    *(f"tests/helpers/{name}.py" for name in ("clips", "notes", "rewritten")),
)
"""Files whose content decides what comes of a case: those of measuring and all that it rests on, and those of the scenes."""
Numbered = tuple[str, int]
"""An area and a case's number in it."""


def areas_of(asked: list[str]) -> list[str]:
    """Return the areas asked for, or every area."""
    return asked or [one.name for one in pkgutil.iter_modules(kitchen.__path__) if one.name != "case"]


def cases(area: str) -> list[Case]:
    """Return the cases of an area."""
    found: list[Case] = importlib.import_module(f"kitchen.{area}").CASES
    return found


def state_of_code() -> str:
    """Return a hash of all that decides what comes of a case."""
    found = hashlib.sha256()
    for pattern in JUDGED_BY:
        for path in sorted(ROOT.glob(pattern)):
            found.update(f"{path.relative_to(ROOT)}\n".encode() + path.read_bytes())
    return found.hexdigest()[:12]


def by_scene(wanted: list[Numbered], seed: int) -> list[list[Numbered]]:
    """Return the cases in groups of one scene each, which is rendered once for all of them."""
    groups: dict[str, list[Numbered]] = {}
    for area, number in wanted:
        groups.setdefault(repr(cases(area)[number].scene(seed)), []).append((area, number))
    return list(groups.values())


def rows(group: list[Numbered], seed: int, asked: argparse.Namespace) -> list[Row]:
    """Render the scene of a group once; measure and judge each of its cases; to be run in a process of its own.

    What another run has kept meanwhile is left out.
    """
    kept = _kept(asked)
    left = [(area, cases(area)[number]) for area, number in group]
    left = [(area, case) for area, case in left if kept.needs(area, case.name, seed, asked.again)]
    with tempfile.TemporaryDirectory() as work:
        return [_row(area, case, seed, Path(work)) for area, case in left]


def _kept(asked: argparse.Namespace) -> Kept:
    return Kept(asked.keep, state_of_code(), asked.any_code or asked.again or asked.table)


def _row(area: str, case: Case, seed: int, work: Path) -> Row:
    got = tried(case, seed, work, work)
    errors, expanded = _precision(got)
    card = case.scene(seed).card is not None
    told = faults(case, got)
    return Row(area, case.name, seed, case.outcome, card, _said(got), got.scores, errors, expanded, told)


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


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("areas", nargs="*")
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--only", default="", help="only cases whose name holds this word")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--keep", type=Path, help="file to which each result is added, and in which it is looked for"
    )
    parser.add_argument(
        "--any-code", action="store_true", help="take kept results of other states of the code too"
    )
    parser.add_argument(
        "--again", action="store_true", help="try cases again that were wrong in another state of the code"
    )
    parser.add_argument("--table", action="store_true", help="only show what was kept")
    return parser.parse_args()


def _groups(asked: argparse.Namespace, kept: Kept) -> Iterator[tuple[list[Numbered], int]]:
    """Yield what is still to be tried: one seed of every area, then the next."""
    for seed in asked.seeds:
        wanted = [
            (area, number)
            for area in areas_of(asked.areas)
            for number, case in enumerate(cases(area))
            if asked.only in case.name and kept.needs(area, case.name, seed, asked.again)
        ]
        yield from ((group, seed) for group in by_scene(wanted, seed))


def _run(asked: argparse.Namespace, kept: Kept) -> int:
    """Try what is still to be tried, keep it and print it; return how many groups could not be tried."""
    broken = 0
    with ProcessPoolExecutor(asked.workers) as pool:
        started = {
            pool.submit(rows, group, seed, asked): (group, seed) for group, seed in _groups(asked, kept)
        }
        for done in as_completed(started):
            error = done.exception()
            if error is not None:
                broken += 1
                print(f"BROKEN {started[done]}: {error!r}", flush=True)
                continue
            for one in done.result():
                kept.add(one)
                print(one, flush=True)
    return broken


def main() -> int:
    """Run and print the table; return 1 where a case could not be tried."""
    asked = _asked()
    kept = _kept(asked)
    broken = 0 if asked.table else _run(asked, kept)
    shown = [one for one in kept.rows if one.area in areas_of(asked.areas) and one.seed in asked.seeds]
    print(table([one for one in shown if asked.only in one.name]))
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main())
