"""Renders a scene into a clip, frame by frame, and returns what is true of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tankview import backdrop, extras, motion, optics, sprite, tools
from tankview.burnt_in import BurntIn
from tankview.encode import TICKS, Writer
from tankview.scene import Drop, Scene
from tankview.truth import DropTruth, Truth

Picture = NDArray[np.float32]
Floats = NDArray[np.float64]
_DENSE = 2
"""Dots per pixel of the still picture when it has to be shifted."""
_ROUNDS = 6
"""Rounds to settle at which row, hence instant, the fly is read; each gains two digits."""


def render(
    scene: Scene,
    path: str | Path,
    progress: Callable[[int, int], None] | None = None,
    write_truth: bool = False,
) -> Truth:
    """Render and encode ``scene`` into ``path``; tell ``progress`` frames done and in all.

    ``write_truth`` writes the truth beside the clip, as ``<clip without suffix>.truth.json``.
    """
    path = Path(path)
    studio = Studio(scene)
    with Writer(scene, path) as writer:
        for number, stamp in enumerate(studio.stamps):
            writer.write(studio.picture(number), int(stamp))
            if progress is not None:
                progress(number + 1, len(studio.stamps))
    truth = studio.truth()
    if write_truth:
        truth.write(path.with_suffix(".truth.json"))
    return truth


@dataclass(frozen=True)
class Shown:
    """One drop over all frames: where its fly is when its row of the sensor is read."""

    path: motion.Path
    hands: tools.Tools
    time: Floats
    place: Floats
    pixel: Floats
    start: Floats
    end: Floats
    """Pixels at the beginning and end of the exposure."""
    angle: Floats
    scale: Floats
    present: NDArray[np.bool_]


class Studio:
    """A scene made ready: instants, paths and pixels worked out, still pictures drawn on demand."""

    def __init__(self, scene: Scene) -> None:
        """Work out everything but the pictures."""
        self.scene = scene
        self.stamps, self.time = _instants(scene)
        self.shake = extras.Shake(scene)
        self.shaken = self.shake.motion(self.time)
        camera, tank = scene.camera, scene.tank
        self.px_per_m = optics.scale(np.array([0.0, camera.y, tank.fall_plane]), camera, tank)
        self.shown = [self._show(drop, number) for number, drop in enumerate(scene.drops)]
        rng = np.random.default_rng(scene.seed + 5)
        fly = sprite.fly(scene.fly, self.px_per_m, camera.blur_px, rng)
        self.fly = sprite.Stamp(fly)
        self.shadow = sprite.Stamp(sprite.shadow(fly, scene.extras.shadow_blur))
        self.bubbles = extras.Bubbles(scene, self.px_per_m)
        self.noise = extras.Noise((camera.height, camera.width), scene.extras.noise, rng)
        self.people = extras.People(scene)
        self.burnt_in = BurntIn(scene)
        self.density = _DENSE if camera.shake_px or camera.sway_px or camera.breath else 1
        self._stills: dict[bool, Picture] = {}

    def _show(self, drop: Drop, number: int) -> Shown:
        scene = self.scene
        path = motion.Path(drop, scene.tank.fall_plane, np.random.default_rng([scene.seed, 71, number]))
        time = self.time.copy()
        for _ in range(_ROUNDS if scene.camera.readout else 0):
            time = self.time + scene.camera.readout * row_share(self._pixels(path.at(time)), scene)
        place = path.at(time)
        half = scene.camera.exposure / scene.timing.fps / 2
        bounds = [self._pixels(path.at(_kept(time + shift, path, time))) for shift in (-half, half)]
        angle = path.angle(time, scene.fly.tilt_deg, scene.fly.tumble_deg_s)
        scale = self._scale(place)
        present = path.state(time) != motion.ABSENT
        hands = tools.Tools(scene, path)
        return Shown(
            path, hands, time, place, self._pixels(place), bounds[0], bounds[1], angle, scale, present
        )

    def _pixels(self, place: Floats) -> Floats:
        """Return picture positions, shaken, of one place a frame."""
        return self.shake.moved(optics.project(place, self.scene.camera, self.scene.tank), self.shaken)

    def _scale(self, place: Floats) -> Floats:
        nudge = np.array([0, 5e-4, 0])
        camera, tank = self.scene.camera, self.scene.tank
        span = optics.project(place + nudge, camera, tank) - optics.project(place - nudge, camera, tank)
        return np.hypot(span[:, 0], span[:, 1]) / 1e-3

    def picture(self, number: int) -> Picture:
        """Return one upright picture in grey levels."""
        scene, time, shift = self.scene, self.time[number], self.shaken[number, :2]
        picture = self._still(number)
        self.people.lay(picture, float(time), shift)
        for shown in self.shown:
            if shown.present[number]:
                self._lay_fly(picture, shown, number)
        self.bubbles.lay(picture, time, scene.camera.exposure / scene.timing.fps)
        for shown in self.shown:
            shown.hands.lay(picture, float(time), shift)
        extras.waves(picture, scene, float(time), shift)
        if scene.extras.flicker or scene.extras.ramp or scene.extras.light != 1:
            rows = _rows(scene)
            light = extras.flicker(scene, float(time), rows)
            picture *= light[None, :] if scene.camera.stored_rotation % 180 else light[:, None]
        self.noise.add(picture)
        self.burnt_in.lay(picture)
        return picture

    def _still(self, number: int) -> Picture:
        scene = self.scene
        moved = scene.card is not None and bool(self.time[number] >= scene.card.move_at)
        if moved not in self._stills:
            self._stills[moved] = backdrop.still(scene, self.density, moved)
        if self.density == 1:
            return self._stills[moved].copy()
        return self.shake.still(self._stills[moved], self.density, self.shaken[number])

    def _lay_fly(self, picture: Picture, shown: Shown, number: int) -> None:
        extra, camera, tank = self.scene.extras, self.scene.camera, self.scene.tank
        start, end, place = shown.start[number], shown.end[number], shown.place[number]
        scale, angle = float(shown.scale[number]), float(shown.angle[number])

        def elsewhere(other: list[float]) -> tuple[Floats, Floats]:
            spot = optics.project(np.array(other), camera, tank)
            spot = self.shake.moved(spot, self.shaken[number : number + 1])[0]
            return spot + start - shown.pixel[number], spot + end - shown.pixel[number]

        if extra.shadow and self.scene.card is not None:
            across, down = extra.shadow_offset
            behind = tank.fall_plane + self.scene.card.gap
            cast = elsewhere([place[0] + across, place[1] + down, behind])
            self.shadow.lay(picture, *cast, scale, angle, extra.shadow, shade=True)
        if extra.ghost:
            cast = elsewhere([tank.width - place[0], place[1], place[2]])
            self.fly.lay(picture, *cast, scale, angle, extra.ghost, (-1, 1))
        if extra.reflection and tank.surface_y is not None:
            spot, _ = elsewhere([place[0], 2 * tank.surface_y - place[1], place[2]])
            run = (end - start) / 2 * [1, -1]
            line = round(float(elsewhere([place[0], tank.surface_y, 0.0])[0][1]))
            below, shift = picture[max(line, 0) :], np.array([0, max(line, 0)])
            cast = spot - run - shift, spot + run - shift
            self.fly.lay(below, *cast, scale, angle, extra.reflection, (1, -1))
        self.fly.lay(picture, start, end, scale, angle)

    def truth(self) -> Truth:
        """Return what is true of the clip."""
        stamp_s = self.stamps / TICKS
        drops = tuple(self._drop_truth(shown) for shown in self.shown)
        return Truth(self.time, stamp_s, self.px_per_m, drops)

    def _drop_truth(self, shown: Shown) -> DropTruth:
        camera, drop = self.scene.camera, shown.path.drop
        inside = np.all(
            (shown.pixel > -0.5) & (shown.pixel < [camera.width - 0.5, camera.height - 0.5]), axis=1
        )
        seen = np.flatnonzero(inside & (shown.path.state(shown.time) == motion.SINKING))
        place, pixel, time = shown.place[seen], shown.pixel[seen], shown.time[seen]
        return DropTruth(
            terminal_speed_m_s=drop.terminal_speed,
            response_time_s=drop.response_time,
            start_speed_m_s=drop.start_speed,
            release_s=drop.start,
            landing_s=shown.path.landing,
            frames=seen,
            time_s=time,
            x_m=place[:, 0],
            y_m=place[:, 1],
            depth_m=place[:, 2],
            speed_m_s=shown.path.speed(time),
            px=pixel[:, 0],
            py=pixel[:, 1],
        )


def _kept(wanted: Floats, path: motion.Path, time: Floats) -> Floats:
    """Keep the ends of an exposure where the fly is present: it must not blur to or from nowhere."""
    return np.where(path.state(wanted) == motion.ABSENT, time, wanted)


def _instants(scene: Scene) -> tuple[NDArray[np.int64], Floats]:
    """Return time stamps [ticks] and the real instants [s] they stand for, the first at 0."""
    timing, rng = scene.timing, np.random.default_rng(scene.seed + 101)
    even = np.arange(int(np.floor(scene.duration * timing.fps)) + 1) / timing.fps
    kept = rng.random(len(even)) >= timing.dropped
    late = rng.normal(0, timing.jitter, len(even)) if timing.jitter else np.zeros(len(even))
    late = np.clip(late, -0.4 / timing.fps, 0.4 / timing.fps)
    kept[0], late[0] = True, 0.0
    ticks = np.round((even + late)[kept] * timing.stretch * TICKS).astype(np.int64)
    return ticks + round(timing.start_offset * TICKS), ticks / (TICKS * timing.stretch)


def _rows(scene: Scene) -> Floats:
    """Return when each line of pixels along the readout is read, as a share from -1/2 to 1/2."""
    turned = scene.camera.stored_rotation % 180 != 0
    count = scene.camera.width if turned else scene.camera.height
    line = np.arange(count) / (count - 1) - 0.5
    backwards = scene.camera.stored_rotation % 360 in (180, 270)
    return -line if backwards else line


def row_share(pixels: Floats, scene: Scene) -> Floats:
    """Return the same for points (n, 2), between the lines; beyond the picture it stays at the edge."""
    turned = scene.camera.stored_rotation % 180 != 0
    along = pixels[:, 0] if turned else pixels[:, 1]
    rows = _rows(scene)
    return np.interp(along, np.arange(len(rows)), rows)
