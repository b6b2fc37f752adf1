"""Cost as ratios within one run: ``python benchmarks/run.py [--keep FOLDER]``; needs the extras [test] and [bench].

Wall times on a shared machine scatter by some 15 %; each figure is the best of several tries, and the
processor times beside them scatter less.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "bench_videos"))

from tankview.render import render  # noqa: E402
from tankview.sheet import sheet_text  # noqa: E402
from tankview.simple import clean_scene, drops  # noqa: E402

DECODE = """
import sys, av
with av.open(sys.argv[1]) as clip:
    clip.streams.video[0].thread_type = "AUTO"
    print(sum(1 for _ in clip.decode(video=0)))
"""
FLYBENCH = [sys.executable, "-m", "flybench"]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", type=Path, help="folder in which the rendered clip is kept and looked for")
    folder = parser.parse_args().keep or Path(tempfile.mkdtemp(prefix="flybench-cost-"))
    folder.mkdir(parents=True, exist_ok=True)
    clip = _clip(folder)
    long = _longer(clip, 3)
    _start_up()
    _whole_process(clip)
    _memory(clip, long)
    _beside_trackpy(clip)


def _clip(folder: Path) -> Path:
    """Render the 1080p60 20 s clip once: a noisy phone-like clip, a key frame a second."""
    path = folder / "tank-1080p60.mp4"
    if not path.exists():
        scene = clean_scene(
            drops=drops(6, 3.2, first=0.5),
            duration=20.0,
            camera__width=1080,
            camera__height=1920,
            camera__focal_px=3330.0,
            extras__noise=4.0,
            encoding__crf=18,
        )
        print("rendering 1200 frames of 1080 x 1920 ...", flush=True)
        render(scene, path)
        path.with_suffix(".toml").write_text(sheet_text(scene), encoding="utf-8")
    size = path.stat().st_size
    print(f"clip: 1080p60, 20 s, {size / 1e6:.0f} MB ({size * 8 / 20e6:.0f} Mbit/s)")
    return path


def _longer(clip: Path, times: int) -> Path:
    """Repeat a clip's packets without encoding again."""
    path = clip.with_name(f"{clip.stem}-x{times}.mp4")
    if path.exists():
        return path
    with av.open(str(path), "w") as out:
        shift, stream = 0, None
        for _ in range(times):
            with av.open(str(clip)) as source:
                seen = source.streams.video[0]
                if stream is None:
                    stream = out.add_stream_from_template(seen)
                base = Fraction(seen.time_base.numerator, seen.time_base.denominator)
                for packet in source.demux(seen):
                    if packet.dts is None:
                        continue
                    packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
                    packet.stream = stream
                    out.mux(packet)
            shift += int(Fraction(201, 10) / base)
    path.with_suffix(".toml").write_text(clip.with_suffix(".toml").read_text(), encoding="utf-8")
    return path


def _timed(command: list[str]) -> tuple[float, float]:
    """Run a command; return wall and processor seconds."""
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wall, after = time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _start_up() -> None:
    help_ = [_timed([*FLYBENCH, "--help"])[0] for _ in range(15)]
    base = [_timed([sys.executable, "-c", "import click"])[0] for _ in range(15)]
    ratio = statistics.median(help_) / statistics.median(base)
    print(f'flybench --help over python -c "import click": {ratio:.2f} (wanted: under 2)')


def _whole_process(clip: Path, tries: int = 4) -> None:
    bare, plain, full = [], [], []
    for _ in range(tries):
        bare.append(_timed([sys.executable, "-c", DECODE, str(clip)]))
        plain.append(_timed([*FLYBENCH, "bench", "measure", str(clip), "--no-report", "--json"]))
        full.append(_timed([*FLYBENCH, "bench", "measure", str(clip)]))
    for name, kind in (("wall", 0), ("processor", 1)):
        base, no_page, page = (min(run[kind] for run in runs) for runs in (bare, plain, full))
        print(
            f"bench measure over bare decode, {name} time: {no_page / base:.2f} without the report page, "
            f"{page / base:.2f} with it (wanted: at most 1.3); bare {base:.1f} s"
        )


def _memory(clip: Path, long: Path) -> None:
    peaks = [_peak(path) for path in (clip, long)]
    print(
        f"peak memory: {peaks[0]:.0f} MB for 20 s, {peaks[1]:.0f} MB for 60 s, ratio {peaks[1] / peaks[0]:.2f}"
    )


def _peak(clip: Path) -> float:
    """Return the peak resident memory of one measurement [MB], measured by a parent of its own."""
    code = (
        "import resource, subprocess, sys\n"
        "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    command = [sys.executable, "-c", code, *FLYBENCH, "bench", "measure", str(clip), "--no-report"]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def _beside_trackpy(clip: Path) -> None:
    """Find the fly in the same decoded frames with both, decoding left out."""
    import trackpy

    from flybench.bench.clip.footage import Frame, open_clip
    from flybench.bench.sheet.read import read_sheet
    from flybench.bench.track.spotting import Spotter
    from flybench.bench.view.tank_view import view_tank

    trackpy.quiet()
    opened = open_clip(clip)
    settings = read_sheet(tomllib.loads(clip.with_suffix(".toml").read_text(encoding="utf-8")))
    spotter = Spotter(view_tank(opened, settings).backdrop, opened.orientation)
    frames = []
    for frame in opened.frames():
        if 45 <= frame.index < 75:
            frames.append(Frame(frame.index, frame.clip_time, frame.luma.copy(), frame.shift))
        if frame.index >= 75:
            break
    begun = time.perf_counter()
    ours = [len(spotter.spots(frame, None)) for frame in frames]
    mine = len(frames) / (time.perf_counter() - begun)
    begun, theirs = time.perf_counter(), []
    for frame in frames[::6]:
        off = np.abs(frame.luma.astype(np.int16) - spotter.full).astype(np.uint8)
        theirs.append(len(trackpy.locate(off, 41, minmass=2000, engine="python")))
    other = len(frames[::6]) / (time.perf_counter() - begun)
    print(
        f"finding the fly, frames a second on the same frames: flybench {mine:.0f} ({np.mean(ours):.1f} finds a frame), "
        f"trackpy.locate {other:.2f} ({np.mean(theirs):.1f}); ratio {mine / other:.0f}"
    )


if __name__ == "__main__":
    main()
