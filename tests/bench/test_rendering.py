"""The renderer of test clips, held against facts from outside: Fermat, Snell, closed forms, the decoder."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from scipy.optimize import minimize
from tankview import backdrop, cardface, optics
from tankview.motion import Path as FallPath
from tankview.render import Studio, render
from tankview.scene import Camera, CardSetting, Drop, Tank
from tankview.sheet import sheet_text
from tankview.simple import aimed, clean_scene, drops

from flybench.bench.view import card

STRAIGHT = Camera(distance=0.5, y=0.0)
QUIET = {"extras__noise": 0.0, "backdrop__texture": 0.0, "backdrop__gradient": 0.0, "card": None}
DARK = {f"fly__{part}": 0.0 for part in ("bead_level", "body_level", "hackle_level", "shine")}


def decoded(path: Path) -> tuple[list[np.ndarray], list[float], av.VideoFrame]:
    """Return the upright luma pictures, their time stamps [s] and the last frame."""
    pictures, stamps = [], []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        base = Fraction(stream.time_base.numerator, stream.time_base.denominator)
        for frame in container.decode(stream):
            deep = "10" in frame.format.name
            plane = np.frombuffer(frame.planes[0], np.uint16 if deep else np.uint8)
            luma = plane.reshape(frame.height, -1)[:, : frame.width] / (4 if deep else 1)
            pictures.append(np.rot90(luma, round(frame.rotation / 90)))
            stamps.append(float(frame.pts * base))
    return pictures, stamps, frame


def centroid(picture: np.ndarray, still: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Return the centroid of what differs from the still picture, in a window around a pixel."""
    left, top = np.round(near).astype(int) - 40
    window = np.s_[max(top, 0) : top + 81, max(left, 0) : left + 81]
    weight = np.abs(picture[window] - still[window])
    weight[weight < 0.015 * weight.max()] = 0
    y, x = np.indices(weight.shape)
    corner = [max(left, 0), max(top, 0)]
    return np.array([np.sum(x * weight), np.sum(y * weight)]) / weight.sum() + corner


def test_a_ray_takes_the_quickest_way():
    tank = Tank()
    target = np.array([0.11, 0.13, 0.1])
    reach = np.hypot(*target[:2])

    def optical_path(crossings):
        outer, inner = crossings
        in_wall, in_water = np.hypot(inner - outer, tank.wall), np.hypot(reach - inner, target[2])
        return np.hypot(outer, STRAIGHT.distance) + tank.wall_index * in_wall + tank.water_index * in_water

    best = minimize(optical_path, [0.1, 0.1], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-16})
    pixel = optics.project(target, STRAIGHT, tank)[0] - optics.middle(STRAIGHT)
    assert np.hypot(*pixel) == pytest.approx(STRAIGHT.focal_px * best.x[0] / STRAIGHT.distance, abs=1e-3)
    assert pixel[1] / pixel[0] == pytest.approx(13 / 11, rel=1e-12)


def test_near_the_axis_water_looks_shallower_by_its_index():
    tank = Tank(fall_plane=0.1, water_index=1.3334, wall=0.006, wall_index=1.5)
    pixel = optics.project(np.array([0.0, 1e-4, 0.1]), STRAIGHT, tank)[0] - optics.middle(STRAIGHT)
    apparent = 0.5 + 0.006 / 1.5 + 0.1 / 1.3334
    assert pixel[1] == pytest.approx(STRAIGHT.focal_px * 1e-4 / apparent, rel=1e-6)


@pytest.mark.parametrize(
    ("distance", "behind", "aside", "excess"),
    [(0.5, 0.1, 0.15, 0.0019), (0.5, 0.1, 0.25, 0.0052), (1, 0.1, 0.25, 0.0008)],
)
def test_off_axis_error_of_a_linear_scale_matches_published_values(distance, behind, aside, excess):
    camera = replace(STRAIGHT, distance=distance)
    tank = Tank(wall=0.0, water_index=1.3333)
    near, far = optics.project(np.array([[0, 1e-5, behind], [0, aside, behind]]), camera, tank)[:, 1]
    middle = optics.middle(camera)[1]
    assert abs((far - middle) / (near - middle) * 1e-5 / aside - 1) == pytest.approx(excess, abs=6e-5)


def test_tracing_undoes_projecting_with_every_knob_turned():
    camera = Camera(tilt_deg=4, pan_deg=-3, roll_deg=7, k1=0.2, offset_px=(5, -9), x=0.01, y=0.1)
    points = np.random.default_rng(1).uniform([-0.08, -0.02, 0.0], [0.08, 0.26, 0.14], (50, 3))
    entry, growth = optics.trace(optics.project(points, camera, Tank()), camera, Tank())
    assert np.allclose(entry + growth * points[:, 2:], points[:, :2], atol=1e-10)


@pytest.mark.parametrize(("turned", "axis"), [("tilt_deg", 1), ("pan_deg", 0)])
def test_looking_down_or_right_moves_the_picture_up_or_left(turned, axis):
    pixel = optics.project(np.array([0.0, 0.0, 0.07]), replace(STRAIGHT, **{turned: 1.0}), Tank())[0]
    expected = -STRAIGHT.focal_px * np.tan(np.radians(1))
    assert (pixel - optics.middle(STRAIGHT))[axis] == pytest.approx(expected, rel=1e-9)


@pytest.mark.slow
def test_the_printed_corners_are_where_they_project():
    setting = CardSetting(lean_deg=6, roll_deg=3, gap=0.012)
    scene = aimed(clean_scene(card=setting, camera__tilt_deg=2, camera__k1=0.1, **{"extras__noise": 0.0}))
    picture = Studio(scene).picture(0)
    corners = cardface.plane(setting, scene.tank.fall_plane).place(card.corners(0))
    pixels = optics.project(corners, scene.camera, scene.tank)
    start = pixels.astype(np.float32).reshape(-1, 1, 2) + np.float32(0.4)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 100, 1e-4)
    found = cv2.cornerSubPix(picture.astype(np.uint8), start, (4, 4), (-1, -1), stop).reshape(-1, 2)
    assert np.abs(found - pixels).max() < 0.1
    assert np.abs((found - pixels).mean(axis=0)).max() < 0.01


@pytest.mark.parametrize("start_speed", [0.0, 0.12, 0.5])
def test_the_fall_follows_the_closed_form(start_speed):
    drop = Drop(start=0.4, terminal_speed=0.31, response_time=0.06, start_speed=start_speed, release_y=0.01)
    path = FallPath(drop, 0.07, np.random.default_rng(1))
    since = np.linspace(0, 0.7, 40)
    # y = v tau ln(cosh(t/tau) + (u/v) sinh(t/tau)), slower or faster than terminal.
    y = 0.31 * 0.06 * np.log(np.cosh(since / 0.06) + start_speed / 0.31 * np.sinh(since / 0.06))
    assert np.allclose(path.at(since + 0.4)[:, 1], 0.01 + y, atol=1e-9)
    assert path.speed(np.array([1.1]))[0] == pytest.approx(0.31, rel=1e-4)


@pytest.mark.slow
def test_wander_has_the_size_and_memory_asked_for():
    drop = Drop(start=0, terminal_speed=0.005, wander=0.002, wander_time=0.2)
    time = np.linspace(2, 42, 8000)
    courses = np.array([FallPath(drop, 0.07, np.random.default_rng(n)).at(time)[:, 0] for n in range(30)])
    assert courses.std() == pytest.approx(0.002, rel=0.05)
    lag = round(0.2 / (time[1] - time[0]))
    likeness = np.mean(courses[:, lag:] * courses[:, :-lag]) / np.mean(courses**2)
    assert likeness == pytest.approx(2 / np.e, abs=0.04)


def test_a_landed_fly_rests_and_is_lifted():
    path = FallPath(Drop(bottom_y=0.2, rest=0.5, lift_speed=0.2), 0.07, np.random.default_rng(1))
    after = path.at(path.landing + np.array([0.1, 0.4, 1.0]))[:, 1]
    assert after == pytest.approx([0.2, 0.2, 0.1])


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    path = tmp_path_factory.mktemp("clip") / "clean.mp4"
    scene = clean_scene(
        **QUIET,
        **DARK,
        drops=drops(2, 0.6, terminal_speed=0.35, wander=0.002),
        duration=1.3,
        encoding__crf=2,
        camera__exposure=0.6,
        timing__jitter=0.0005,
        timing__dropped=0.1,
    )
    return scene, path, render(scene, path, write_truth=True)


@pytest.mark.slow
def test_an_evenly_dark_fly_is_seen_at_its_very_point(clean):
    _, path, truth = clean
    pictures, _, _ = decoded(path)
    still = np.median(pictures, axis=0)
    for drop in truth.drops:
        whole = np.flatnonzero((drop.py > 45) & (drop.py < 915))
        spots = np.column_stack([drop.px, drop.py])[whole]
        seen = [centroid(pictures[drop.frames[n]], still, at) for n, at in zip(whole, spots, strict=True)]
        assert len(whole) > 15
        assert np.abs(seen - spots).max() < 0.1
        assert np.abs(np.mean(seen - spots, axis=0)).max() < 0.03


@pytest.mark.slow
def test_time_stamps_are_the_instants_of_capture(clean):
    _, path, truth = clean
    _, stamps, frame = decoded(path)
    assert stamps == pytest.approx(truth.frame_time_s, abs=1e-9)
    assert len(stamps) < 79
    assert np.diff(stamps).max() > 1.8 / 60
    assert frame.rotation == -90
    assert (frame.width, frame.height) == (960, 540)


def test_the_truth_file_says_what_was_returned(clean):
    _, path, truth = clean
    told = json.loads(path.with_suffix(".truth.json").read_text())
    assert told["sink_speed_m_s"] == pytest.approx(0.35)
    assert [len(drop["frames"]) for drop in told["drops"]] == [len(drop.frames) for drop in truth.drops]
    first = told["drops"][0]
    assert first["start_s"] == pytest.approx(truth.drops[0].start_s, abs=1e-6)
    assert first["terminal_speed_m_s"] == 0.35
    assert first["px"] == pytest.approx(truth.drops[0].px, abs=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("rotation", [0, 90, 180])
def test_slow_motion_tags_ten_bits_and_turns_survive_the_file(tmp_path, rotation):
    path = tmp_path / "slow.mp4"
    place = (("com.apple.quicktime.location.ISO6709", "+00.0000+000.0000/"),)
    scene = clean_scene(duration=0.1, timing__fps=240.0, timing__stretch=8.0, timing__start_offset=0.1)
    scene = scene.but(camera__stored_rotation=rotation, encoding__codec="hevc", encoding__ten_bit=True)
    scene = scene.but(encoding__preset="ultrafast", encoding__crf=10, encoding__tags=place)
    truth = render(scene, path)
    pictures, stamps, frame = decoded(path)
    with av.open(str(path)) as container:
        tags = dict(container.metadata)
    assert float(tags["com.android.capture.fps"]) == 240
    assert set(place) <= set(tags.items())
    assert stamps == pytest.approx(0.1 + 8 * truth.frame_time_s, abs=1e-4)
    assert abs(frame.rotation) == rotation
    assert frame.format.name == "yuv420p10le"
    wanted = np.clip(Studio(scene).picture(0), 0, 255) * 219 / 255 + 16
    assert np.median(np.abs(pictures[0] - wanted)) < 2


@pytest.mark.parametrize(("rotation", "axis", "sign"), [(0, 1, 1), (180, 1, -1), (90, 0, 1), (-90, 0, -1)])
def test_a_rolling_shutter_reads_the_fly_late_or_early_along_its_rows(rotation, axis, sign):
    fly = (Drop(start=0.1, release_x=0.02),)
    scene = clean_scene(drops=fly, duration=1.0, camera__readout=0.02, camera__stored_rotation=rotation)
    studio = Studio(scene)
    truth = studio.truth().drops[0]
    late = truth.time_s - studio.time[truth.frames]
    length = (scene.camera.width, scene.camera.height)[axis]
    expected = sign * 0.02 * ((truth.px, truth.py)[axis] / (length - 1) - 0.5)
    assert late == pytest.approx(expected, abs=1e-9)
    if axis == 1:
        instants = studio.time[truth.frames]
        apparent, true = (np.polyfit(time[-20:], truth.py[-20:], 1)[0] for time in (instants, truth.time_s))
        # The readout sweeps along the fall: v / (1 - v readout / picture height).
        assert apparent / true == pytest.approx(1 / (1 - sign * true * 0.02 / length), rel=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize(("full", "low", "high"), [(False, 16, 235), (True, 0, 255)])
def test_luma_keeps_to_its_range(tmp_path, full, low, high):
    scene = clean_scene(duration=0.05, extras__noise=90.0, encoding__full_range=full, encoding__crf=1)
    render(scene, tmp_path / "range.mp4")
    pictures, _, frame = decoded(tmp_path / "range.mp4")
    # H.264 says nothing of the range when it is limited, which is what readers then assume.
    assert int(frame.color_range) in ((2,) if full else (0, 1))
    assert np.percentile(pictures[0], [1, 99]) == pytest.approx([low, high], abs=6)


@pytest.mark.slow
def test_everything_at_once_still_renders():
    scene = clean_scene(drops=drops(2, 0.3, release_y=0.01, bottom_y=0.1, rest=0.3), camera__shake_px=2.0)
    scene = scene.but(card__move_at=0.5, card__move=(0.002, 0.0), card__hidden=(0, 0.5, 1, 1))
    scene = scene.but(tank__surface_y=0.0, extras__waves=0.001, extras__bubbles=3, fly__tumble_deg_s=200.0)
    scene = scene.but(**{f"extras__{name}": True for name in ("tweezers", "hand", "thread")})
    scene = scene.but(**{f"extras__{name}": 0.2 for name in ("shadow", "reflection", "ghost", "flicker")})
    studio = Studio(scene)
    assert all(np.isfinite(studio.picture(number)).all() for number in (0, 20, 40, 60))


@pytest.mark.slow
def test_shake_moves_picture_and_fly_alike():
    scene = clean_scene(
        card=None, duration=1.0, camera__shake_px=3.0, extras__noise=0.0, backdrop__texture=15.0
    )
    studio = Studio(scene)
    number = int(np.argmax(np.abs(studio.shaken[:, 0])))
    shift = studio.shaken[number]
    assert np.abs(shift[:2]).max() > 2
    dense, now = backdrop.still(scene, studio.density, moved=False), studio.picture(number)
    spot = np.array([100.0, 700.0])
    shaken = np.round(studio.shake.moved(spot[None], shift[None])[0])
    around = shaken.astype(int) + np.indices((18, 18)).reshape(2, -1).T - 9
    back = spot + around - studio.shake.moved(spot[None], shift[None])[0]
    dots = np.round((back + 0.5) * 2 - 0.5).astype(int)
    assert np.abs(now[around[:, 1], around[:, 0]] - dense[dots[:, 1], dots[:, 0]]).mean() < 1.0


def test_the_sheet_tells_the_scene_and_the_errors_asked_for():
    scene = clean_scene(card__print_scale=0.97, timing__stretch=4.0, timing__tag=False, fly__mass=0.0002)
    sheet = tomllib.loads(sheet_text(scene, {"distance": 0.002, "depth": None}))
    assert sheet["camera"] == {"distance": "502 mm", "capture_rate": "60 Hz"}
    assert sheet["scale"] == {"card": "in water", "gap": "12 mm", "bar": "97 mm"}
    assert "depth" not in sheet["tank"]
    assert sheet["fly"]["mass"] == "0.2 g"


def test_without_a_card_the_sheet_gives_two_points_of_the_fall_plane():
    scene = clean_scene(card=None)
    scale = tomllib.loads(sheet_text(scene))["scale"]
    span = np.hypot(*np.subtract(*scale["points"]))
    assert span / 0.2 == pytest.approx(Studio(scene).px_per_m, rel=2e-3)
    assert scale["length"] == "200 mm"


def test_shipped_clips_have_sheet_and_truth_and_stay_small():
    clips = sorted((Path(__file__).parents[2] / "bench_videos" / "clips").glob("*.mp4"))
    assert len(clips) >= 3
    for clip in clips:
        assert clip.stat().st_size < 1_000_000
        assert tomllib.loads(clip.with_suffix(".toml").read_text())["scale"]["card"] == "in water"
        assert json.loads(clip.with_suffix(".truth.json").read_text())["sink_speed_m_s"] > 0
