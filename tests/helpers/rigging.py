"""Rigs for tests: bare chains with laws and currents of their own, and boxes of invented flies."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats, Measured
from flybench.rig.chain.batch import Batch, ChainLayout, ChainLine
from flybench.rig.chain.simulate import simulate
from flybench.rig.chain.state import ChainState
from flybench.rig.tackle.flies import RigFly

GRAVITY = 9.80665
WATER, VISCOSITY = 1000.0, 1.0e-3
DEEP = 1e3


@dataclass(frozen=True)
class Law:
    """Coefficients [N s/m2] as functions of the speeds across and along [m/s]."""

    across: Callable[[Floats], Floats]
    along: Callable[[Floats], Floats]

    def fill(self, across: Floats, along: Floats, normal: Floats, tangential: Floats) -> None:
        normal[:], tangential[:] = self.across(across), self.along(along)


@dataclass(frozen=True)
class Stream:
    """Speed of the water [m/s] as a function of depth [m], the same for all rigs."""

    speed: Callable[[Floats], Floats]

    def at(self, depth: Floats, out: Floats) -> None:
        out[:] = self.speed(depth)

    def part(self, columns: slice) -> Stream:
        return self


NO_DRAG = Law(lambda u: 0 * u, lambda u: 0 * u)
STILL = Stream(lambda z: 0 * z)


def even(speed: float) -> Stream:
    """Return water that runs at one speed [m/s] at all depths."""
    return Stream(lambda z: 0 * np.asarray(z) + speed)


def sheared(us: float, depth: float, z0: float) -> Stream:
    """Return water of a log law: surface speed [m/s], depth [m], roughness length [m]."""
    return Stream(lambda z: us * np.log1p(np.maximum(depth - z, 0.0) / z0) / math.log1p(depth / z0))


def line(
    diameter: float, density: float, law: object, water: float = WATER, stiffness: float = 20.0
) -> ChainLine:
    area = np.pi * diameter**2 / 4
    weight, mass, lift = (density - water) * GRAVITY * area, (density + water) * area, water * GRAVITY * area
    return ChainLine(weight, mass, law, stiffness, lift)  # type: ignore[arg-type]


def weightless(law: object = NO_DRAG, mass: float = 1e-5) -> ChainLine:
    """Return a line without weight; its mass [kg/m] is that of a thin one."""
    return ChainLine(0.0, mass, law)  # type: ignore[arg-type]


def chain(
    lengths: Sequence[float],
    nodes: Sequence[int],
    tied: ChainLine,
    stream: object,
    drags: Sequence[float],
    weights: Sequence[float],
    masses: Sequence[float],
    lead: float | None = 0.0,
    slack: float = 0.0,
    entry: float = 0.0,
    floor: float = DEEP,
    upstream: bool = False,
    tip: float = 0.0,
) -> Batch:
    """Return a single rig."""
    one = np.ones(1)

    def column(values: Sequence[float]) -> Floats:
        return np.array(values, dtype=float)[:, None]

    return Batch(
        layout=ChainLayout(np.array(lengths, dtype=float), tuple(nodes)),
        line=tied,
        profile=stream,  # type: ignore[arg-type]
        floor=floor * one,
        fly_drag=column(drags),
        fly_weight=column(weights),
        fly_mass=column(masses),
        lead=None if lead is None else lead * one,
        slack=slack * one,
        entry_speed=entry * one,
        normal=one,
        tangential=one,
        wander=0 * one,
        memory=one,
        upstream=upstream,
        tip=tip,
    )


def seen(rigs: Batch, times: Sequence[float]) -> tuple[Floats, Floats, Floats, ChainState]:
    """Return the times, places (steps, 2, nodes) and velocities of the first rig, and the last state."""
    clock, places, velocities = [0.0], [], []

    def watch(time: float, dt: float, state: ChainState) -> bool:
        clock.append(time)
        places.append(state.place[:, :, 0].copy())
        velocities.append(state.velocity[:, :, 0].copy())
        return False

    last = simulate(rigs, tuple(times), watch)
    return np.array(clock[1:]), np.array(places), np.array(velocities), last


def settled(rigs: Batch, seconds: float, step: float = 0.05) -> ChainState:
    """Return the state after a long time."""
    return simulate(rigs, (step,) * round(seconds / step), lambda time, dt, state: False)


def upright(rigs: Batch, state: ChainState) -> ChainState:
    """Hang the line straight down from node 0 at the surface."""
    state.place[0] = 0.0
    state.place[1] = np.concatenate([[0.0], np.cumsum(rigs.layout.lengths)])[:, None]
    return state


def invented_box(count: int, seed: int) -> list[RigFly]:
    """Return flies of 12 to 50 cm/s and 0.4 to 5 mN, known to 3 and 2 %."""
    draw = np.random.default_rng(seed)
    speed, weight = draw.uniform(0.12, 0.5, count), np.exp(draw.uniform(np.log(4e-4), np.log(5e-3), count))
    return [
        RigFly(f"F{number}", Measured(v, 0.03 * v), Measured(w, 0.02 * w))
        for number, (v, w) in enumerate(zip(speed, weight, strict=True))
    ]
