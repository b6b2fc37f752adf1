"""The same rigs for MoorDyn, an open program for mooring lines (BSD-3), as text files, and what it makes of them.

What it cannot follow: its drag coefficients are one number each, where those of a thin line fall by half as it goes faster;
a slack piece of it gets shorter instead of folding; a point above the surface keeps the drag and the lift of water; it has
no hard bed to rest on. So these cases have constant coefficients, flies under water and no bed. Its line is made softer than
nylon (1 mN stretches it by 0.0002), for its steps are explicit: at the stiffness of nylon they would take many minutes.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

RHO, G, NYLON = 1000.0, 9.80665, 1140.0
CN, CT = 1.5, 0.02
STIFFNESS = 5.0
"""Pull over stretch [N]."""


@dataclass(frozen=True)
class MoorCase:
    """A rig: speed of the water at a depth; lead [m/s]; tip, length, diameter [m]; flies as (distance up from the point [m],
    sink speed [m/s], weight in water [N], density [kg/m3]), the point first; where the line lies at first, (x, depth) of the
    upper end and of the point, between which it is straight [m]; times at which it is looked at [s]; drag coefficients of the
    line, across and along; its density [kg/m3]."""

    water: Callable[[np.ndarray], np.ndarray]
    lead: float
    tip: float
    length: float
    diameter: float
    flies: Sequence[tuple[float, float, float, float]]
    point: tuple[float, float]
    times: Sequence[float]
    cn: float = CN
    ct: float = CT
    density: float = NYLON
    pieces: int = 16

    @property
    def area(self) -> float:
        return float(np.pi * self.diameter**2 / 4)

    @property
    def spans(self) -> list[tuple[float, int]]:
        """Length and pieces of the line between flies, from the tip down."""
        ups = [self.length, *sorted((fly[0] for fly in self.flies), reverse=True)]
        long = -np.diff(ups)
        return [(float(span), max(round(self.pieces * span / self.length), 2)) for span in long]

    def at(self, up: float) -> tuple[float, float]:
        """Return where the line is so far up from the point, (x, height above the surface) [m], at first."""
        share = up / self.length
        return self.point[0] * (1 - share), -self.point[1] * (1 - share) + self.tip * share

    def volume(self, fly: tuple[float, float, float, float]) -> float:
        return fly[2] / ((fly[3] - RHO) * G)


def moordyn_depths(case: MoorCase, folder: Path) -> np.ndarray:
    """Return x downstream of the tip and depth of the flies, the point first, at the times: (times, flies, 2) [m]."""
    import moordyn

    before = Path.cwd()
    os.chdir(folder)
    try:
        Path("current_profile.txt").write_text(_profile(case), encoding="utf-8")
        Path("rig.txt").write_text(_rig(case), encoding="utf-8")
        rig = moordyn.Create("rig.txt")
        moordyn.Init_NoIC(rig, [], [])
        seen, time = [], 0.0
        for until in case.times:
            moordyn.Step(rig, [], [], time, until - time)
            time = until
            places = [moordyn.GetPointPos(moordyn.GetPoint(rig, 2 + k)) for k in range(len(case.flies))]
            seen.append([(x, -z) for x, _, z in places][::-1])
        moordyn.Close(rig)
    finally:
        os.chdir(before)
    return np.array(seen)


def _profile(case: MoorCase) -> str:
    depths = np.concatenate([np.linspace(4.0, 0.1, 100), np.linspace(0.099, 0.0, 100)])
    speeds = case.water(depths) - case.lead
    rows = "".join(f"{-depth:.5f} {speed:.6f} 0 0\n" for depth, speed in zip(depths, speeds, strict=True))
    return "-\n-\nz ux uy uz\n" + rows


def _rig(case: MoorCase) -> str:
    step = (
        0.5 * min(span / count for span, count in case.spans) * np.sqrt(case.density * case.area / STIFFNESS)
    )
    points, lines = [f"1 Fixed 0 0 {case.tip} 0 0 0 0"], []
    for number, fly in enumerate(sorted(case.flies, reverse=True)):
        x, z = case.at(fly[0])
        volume = case.volume(fly)
        drag = 2 * fly[2] / (RHO * fly[1] ** 2)
        points.append(f"{number + 2} Free {x:.6f} 0 {z:.6f} {fly[3] * volume} {volume} {drag} 0.5")
        span, count = case.spans[number]
        lines.append(f"{number + 1} nylon {number + 1} {number + 2} {span} {count} -")
    rows = "\n".join
    return f"""--- rig ---
--- LINE TYPES ---
Name Diam Mass/m EA BA/-zeta EI Cd Ca CdAx CaAx
(-) (m) (kg/m) (N) (N-s) (N-m2) (-) (-) (-) (-)
nylon {case.diameter} {case.density * case.area} {STIFFNESS} -0.8 0 {case.cn} 1.0 {case.ct} 0
--- POINTS ---
ID Type X Y Z Mass Volume CdA Ca
(-) (-) (m) (m) (m) (kg) (m3) (m2) (-)
{rows(points)}
--- LINES ---
ID Type A B Length Segments Outputs
(-) (-) (-) (-) (m) (-) (-)
{rows(lines)}
--- OPTIONS ---
{step} dtM
rk2 tScheme
{RHO} rho
{G} g
5.0 WtrDpth
1 Currents
1 disableOutTime
--- end ---
"""
