"""Damaged and lying files: what the bench makes of each.

    python benchmarks/damage.py [FIRST [LAST]] [--form mp4 ...] [--keep FOLDER]

Small clips with known truth, in every form of file that is read, are spoilt in every way of tests/helpers/spoilt.py; each is
looked at and measured in another process than this one. Wanted: no traceback, no signal, nothing over 20 s, no more than 2 GB
of memory, and no speed outside three times its expanded uncertainty without a flag. The number printed makes the same file
again: FIRST and LAST choose, --keep leaves the files that failed.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing as mp
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import av
import numpy as np

ROOT = Path(__file__).resolve().parents[1]
for folder in ("bench_videos", "tests/helpers"):
    sys.path.insert(0, str(ROOT / folder))

from clips import index_first, rendered, sheet_of  # noqa: E402
from rewritten import without_tags  # noqa: E402
from scenes import SMALL  # noqa: E402
from spoilt import spoilt  # noqa: E402

from flybench.bench.clip.footage import open_clip  # noqa: E402
from flybench.bench.measure import measure  # noqa: E402
from flybench.bench.sheet.read import read_sheet  # noqa: E402
from flybench.bench.verdict.flags import doubts  # noqa: E402
from flybench.bench.verdict.result import BenchResult  # noqa: E402
from flybench.errors import FlybenchError  # noqa: E402
from flybench.jobs.bench.look import look_at  # noqa: E402
from flybench.telling.bench import measurement as telling  # noqa: E402

FORMS = ("mp4", "first.mp4", "mov", "hevc.mp4", "mkv", "avi", "ts", "h264", "hevc", "gif")
"""Forms of file; "first" has its index before the pictures."""
WEIGHTS = (6, 4, 3, 3, 2, 1, 2, 1, 1, 1)
"""How often each is taken [-]: phones write MP4 and MOV."""
PATIENCE, MOST_MEMORY = 20.0, 2000.0
"""Most time [s] and memory [MB] for one file."""
FAR = 6.0
"""Standard uncertainties beyond which a speed is wrong [-]: three times the expanded uncertainty."""
RATES = {"gif": 20.0, "h264": 60.0, "hevc": 60.0}
"""Frames a second [Hz] that are typed for files that have no clock, and in which GIF is written."""


@dataclass(frozen=True)
class Verdict:
    """What came of one file."""

    said: str
    fault: str
    seconds: float
    megabytes: float


def made(work: Path) -> tuple[dict[str, bytes], dict[str, Any], float]:
    """Return the good clip in every form, its sheet and the true speed [m/s]."""
    path, truth = rendered(SMALL, work)
    files = {}
    for form in FORMS:
        target = work / f"good.{form}"
        if form == "mp4":
            shutil.copyfile(path, target)
        elif form == "first.mp4":
            index_first(path, target)
        elif form in ("gif", "hevc.mp4", "hevc", "avi"):
            _encoded(path, target)
        else:
            without_tags(path, target)
        files[form] = target.read_bytes()
    return files, sheet_of(SMALL, {}), truth.sink_speed_m_s


def _encoded(clip: Path, target: Path) -> None:
    gif, avi = target.suffix == ".gif", target.suffix == ".avi"
    with av.open(str(clip)) as old, av.open(str(target), "w") as new:
        codec = "gif" if gif else "mjpeg" if avi else "libx265"
        stream: Any = new.add_stream(codec, rate=20 if gif else 60)
        stream.pix_fmt = "gray" if gif else "yuvj420p" if avi else "yuv420p"
        hevc = {"preset": "ultrafast", "x265-params": "log-level=error"}
        stream.codec_context.options = hevc if codec == "libx265" else {}
        for number, frame in enumerate(old.decode(video=0)):
            if gif and number % 3:
                continue
            grey = np.rot90(frame.to_ndarray(format="gray"), round(frame.rotation / 90))
            if not number:
                stream.height, stream.width = grey.shape
            shown = av.VideoFrame.from_ndarray(np.ascontiguousarray(grey), format="gray").reformat(
                format=stream.pix_fmt
            )
            shown.pts, shown.time_base = number // 3 if gif else number, Fraction(1, 20 if gif else 60)
            new.mux(stream.encode(shown))
        new.mux(stream.encode(None))


def tables_for(form: str, tables: dict[str, Any]) -> dict[str, Any]:
    """Return the sheet for a form, with the rate where its files have none."""
    if form not in ("h264", "hevc"):
        return tables
    return tables | {"camera": tables["camera"] | {"capture_rate": f"{RATES[form]:g} Hz"}}


def tried(path: Path, tables: dict[str, Any]) -> BenchResult | str:
    """Look at a file and measure it as the commands do; return the result or the message."""
    with suppress(FlybenchError):
        look_at(path, None, {})
    try:
        result = measure(open_clip(path), read_sheet(tables)).result
    except FlybenchError as refused:
        return str(refused)
    json.dumps(telling.record(result), allow_nan=False)
    telling.lines(result)
    return result


def flags_of(result: BenchResult) -> set[str]:
    """Return the flags of the clip and of the drops that were used."""
    return set(result.flags).union(*(drop.flags for drop in result.used_drops))


def judged(found: BenchResult | str, speed: float, usual: set[str]) -> tuple[str, str]:
    """Return what was said and what is wrong with it; ``usual`` are flags that the good clip raises too."""
    if isinstance(found, str):
        return "refused", ""
    if found.sink_speed is None or not found.standard_uncertainty:
        return "no speed", ""
    score = (found.sink_speed - speed) / found.standard_uncertainty
    flags = flags_of(found)
    doubted = doubts(sorted(flags - usual))
    said = f"{found.verdict}, off by {found.sink_speed / speed - 1:+.2%} ({score:+.1f} u): {', '.join(sorted(flags))}"
    return said, "wrong without a flag" if abs(score) > FAR and not doubted else ""


def worker(pipe: Connection, speed: float, usual: dict[str, list[str]]) -> None:
    """Try files named through the pipe until it closes."""
    while True:
        try:
            path, tables, form = pipe.recv()
        except EOFError:
            return
        Path("/proc/self/clear_refs").write_text("5")  # the peak of memory begins anew (Linux, proc(5))
        try:
            said, fault = judged(tried(path, tables), speed, set(usual.get(form, [])))
        except Exception:  # noqa: BLE001 - a traceback is what is looked for
            said, fault = traceback.format_exc(limit=-7), "traceback"
        status = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
        pipe.send((said, fault, int(status) / 1024))


class Workshop:
    """One process that tries files, started again where a file ends it."""

    def __init__(self, speed: float, usual: dict[str, list[str]]) -> None:
        """Start it."""
        self.given = (speed, usual)
        self.start()

    def start(self) -> None:
        """Start the process."""
        self.pipe, there = mp.Pipe()
        self.process = mp.get_context("spawn").Process(target=worker, args=(there, *self.given), daemon=True)
        self.process.start()
        there.close()

    def tried(self, path: Path, tables: dict[str, Any], form: str) -> Verdict:
        """Return what came of a file."""
        begun = time.monotonic()
        self.pipe.send((path, tables, form))
        fault = "hangs"
        if self.pipe.poll(3 * PATIENCE):
            try:
                said, fault, peak = self.pipe.recv()
                took = time.monotonic() - begun
                fault = fault or (
                    "slow" if took > PATIENCE else "too much memory" if peak > MOST_MEMORY else ""
                )
                return Verdict(said, fault, took, peak)
            except EOFError:
                self.process.join()
                fault = f"ended by signal {-(self.process.exitcode or 0)}"
        self.process.kill()
        self.process.join()
        self.start()
        return Verdict("", fault, time.monotonic() - begun, 0.0)


def form_of(number: int, forms: list[str]) -> str:
    """Return the form that a number stands for."""
    weights = np.array([WEIGHTS[FORMS.index(form)] for form in forms], dtype=float)
    return str(np.random.default_rng([number, 1]).choice(forms, p=weights / weights.sum()))


def main() -> None:
    """Run and print what is wrong, and how many came to what."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("first", type=int, nargs="?", default=0)
    parser.add_argument("last", type=int, nargs="?", default=1999)
    parser.add_argument("--form", nargs="+", choices=FORMS, default=list(FORMS))
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as work:
        files, tables, speed = made(Path(work))
        usual = _usual(Path(work), tables, speed)
        shop = Workshop(speed, usual)
        count: Counter[str] = Counter()
        slowest, largest = 0.0, 0.0
        for number in range(asked.first, asked.last + 1):
            form = form_of(number, asked.form)
            copy = spoilt(files[form], number)
            path = Path(work) / f"spoilt.{form}"
            path.write_bytes(copy.data)
            got = shop.tried(path, tables_for(form, tables), form)
            slowest, largest = max(slowest, got.seconds), max(largest, got.megabytes)
            count[got.fault or got.said.split(",")[0]] += 1
            if number % 100 == 99:
                print(f"... {number}", flush=True)
            if got.fault:
                print(
                    f"{number} {form} {copy.how}: {got.fault} ({got.seconds:.1f} s, {got.megabytes:.0f} MB) {got.said}",
                    flush=True,
                )
                if asked.keep:
                    asked.keep.mkdir(parents=True, exist_ok=True)
                    shutil.copyfile(path, asked.keep / f"{number}.{form}")
        print(
            f"{sum(count.values())} files: {dict(count)}; slowest {slowest:.1f} s, most memory {largest:.0f} MB"
        )


def _usual(work: Path, tables: dict[str, Any], speed: float) -> dict[str, list[str]]:
    """Return the flags of the good clip in each form, having checked that it is measured rightly."""
    usual = {}
    for form in FORMS:
        found = tried(work / f"good.{form}", tables_for(form, tables))
        said, fault = judged(found, speed, set())
        print(f"{form}: {found if isinstance(found, str) else said} {fault}", flush=True)
        usual[form] = [] if isinstance(found, str) else sorted(flags_of(found))
    return usual


if __name__ == "__main__":
    main()
