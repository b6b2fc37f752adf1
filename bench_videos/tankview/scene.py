"""What a clip shows and how it is taken: frozen dataclasses, SI units unless a name says otherwise.

Axes: x to the right from the middle of the card, y downwards from the nominal top of its squares,
z away from the camera. A depth is counted from the tank's inner front face into the water.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from math import inf
from typing import Any

EVERY = ("*", "all")
"""Names that stand for every member of a tuple in a path of ``change``."""


@dataclass(frozen=True)
class Camera:
    """A pinhole camera with radial distortion; its picture is described upright."""

    width: int = 540
    height: int = 960
    focal_px: float = 1665.0
    distance: float = 0.5
    """Lens to outer front face [m]."""
    x: float = 0.0
    """Lens right of the card's middle [m]."""
    y: float = 0.12
    """Lens below the card's nominal top [m]."""
    tilt_deg: float = 0.0
    """Positive looks down."""
    pan_deg: float = 0.0
    """Positive looks right."""
    roll_deg: float = 0.0
    """Positive turns the camera clockwise as its user sees it, the picture the other way."""
    offset_px: tuple[float, float] = (0.0, 0.0)
    """Principal point away from the picture's middle, right and down."""
    k1: float = 0.0
    """Radial distortion: distorted = undistorted (1 + k1 r^2), r over the focal length."""
    blur_px: float = 0.7
    """Standard deviation of the lens's point spread [px]."""
    exposure: float = 0.2
    """Share of the frame interval."""
    shake_px: float = 0.0
    """Hand shake, root mean square [px]; the first frame is taken as unshaken."""
    sway_px: float = 0.0
    """Slow sway of a hand-held phone, amplitude up and down; sideways half as much [px]."""
    sway_s: float = 2.5
    """Time of one sway to and fro [s]."""
    breath: float = 0.0
    """Hunting focus: the picture grows and shrinks by this share once in ``breath_s``."""
    breath_s: float = 1.7
    """Time of one breath of the focus [s]."""
    readout: float = 0.0
    """Rolling shutter, first to last row of the sensor [s]; the middle row is read on time."""
    stored_rotation: int = -90
    """Display rotation [deg, counter-clockwise] that makes the stored picture upright."""


@dataclass(frozen=True)
class Tank:
    """A rectangular tank of water."""

    width: float = 0.20
    depth: float = 0.14
    wall: float = 0.004
    wall_index: float = 1.49
    water_index: float = 1.3334
    fall_plane: float = 0.07
    """Inner front face to the plane of fall [m]."""
    surface_y: float | None = None
    """Height of the water surface [m], None when out of view."""
    floor_y: float | None = None
    """Height of the table's edge seen at the front pane [m], None when out of view."""
    temperature: float = 18.0
    """Water temperature [degC]; told to the sheet only."""


@dataclass(frozen=True)
class CardSetting:
    """How the printed card stands in the water."""

    gap: float = 0.012
    """Plane of fall to card [m], positive when the fly is nearer the camera."""
    paper: str = "a4"
    margin: float = 0.006
    """White paper left around the squares [m]."""
    lean_deg: float = 0.0
    """Positive leans the lower end away from the camera."""
    roll_deg: float = 0.0
    offset: tuple[float, float] = (0.0, 0.0)
    upside_down: bool = False
    print_scale: float = 1.0
    hidden: tuple[float, float, float, float] | None = None
    """Covered part as shares of the squares' width and height: left, top, right, bottom."""
    move: tuple[float, float] = (0.0, 0.0)
    """How far the card slips at ``move_at`` [m]."""
    move_at: float = inf
    """When the card slips [s]."""
    white: float = 208.0
    black: float = 38.0


@dataclass(frozen=True)
class Backdrop:
    """What lies behind: the rear of the tank and the light on it, in grey levels."""

    level: float = 172.0
    texture: float = 6.0
    """Root mean square of the mottling [grey levels]."""
    gradient: float = 0.10
    """Loss of light from the top to the bottom of the picture, as a share."""
    clutter: int = 0
    """Jars, tiles and shelves behind the tank: upright boxes of chance places, sizes and greys."""


@dataclass(frozen=True)
class Fly:
    """Size [m] and look [grey levels] of the fly; it hangs head down at a tilt of zero."""

    bead_diameter: float = 0.0028
    length: float = 0.011
    """Bead to tail [m]."""
    body_width: float = 0.0026
    hackle: float = 0.0
    """Reach of the fibres [m]; 0 ties none."""
    bead_level: float = 92.0
    shine: float = 215.0
    body_level: float = 42.0
    hackle_level: float = 58.0
    ball: bool = False
    """A plain ball of the bead's size and grey level in place of a fly."""
    tilt_deg: float = 0.0
    tumble_deg_s: float = 0.0
    mass: float | None = None
    """[kg]; told to the sheet only."""
    mass_in_water: float | None = None
    """[kg]; told to the sheet only."""


@dataclass(frozen=True)
class Drop:
    """One fall: release, sinking, rest on the ground and, if ``rest`` ends, the lift out."""

    start: float = 0.3
    """Instant of release [s]."""
    terminal_speed: float = 0.30
    response_time: float = 0.05
    """Terminal speed over the acceleration from rest [s]."""
    start_speed: float = 0.0
    release_y: float = -0.046
    release_x: float = 0.0
    depth_offset: float = 0.0
    """How far behind the plane of fall it sinks [m]."""
    slope: float = 0.0
    """Steady drift to the right per metre of fall."""
    wander: float = 0.0
    """Sideways wander, root mean square [m]."""
    wander_along: float = 0.0
    """The same along the fall, about the true fall [m]."""
    wander_depth: float = 0.0
    """The same towards and from the camera [m]."""
    wander_time: float = 0.15
    """Correlation time of the wander [s]."""
    drag_exponent: float = 2.0
    """Power of the speed to which drag grows; the fit takes 2."""
    swing: float = 0.0
    """Swing of the speed along the fall as waves make it, as a share of the terminal speed."""
    swing_hz: float = 2.0
    away: float = 0.0
    """How far the path leans away from the camera per metre of fall, about the middle of the card."""
    bottom_y: float = 0.32
    rest: float = inf
    lift_speed: float = 0.3
    lift_step: float = 0.0
    """How far the hand goes down again while lifting [m]."""
    lift_step_y: float = 0.12
    """Where it does so [m]."""
    lowering: float = 0.4
    """Time taken to bring the fly to the point of release [s]."""
    held: float = 0.3
    """Time it is held there [s]."""


@dataclass(frozen=True)
class Extras:
    """Everything that gets in the way; lengths in m, levels in grey levels."""

    noise: float = 1.5
    light: float = 1.0
    flicker: float = 0.0
    flicker_hz: float = 100.0
    shadow: float = 0.0
    """Share of light the fly's shadow takes from the card."""
    shadow_offset: tuple[float, float] = (0.006, 0.010)
    shadow_blur: float = 0.0015
    bubbles: int = 0
    bubble_diameter: tuple[float, float] = (0.0006, 0.0016)
    bubble_speed: tuple[float, float] = (0.12, 0.26)
    tweezers: bool = False
    tweezers_stay: bool = False
    hand: bool = False
    thread: bool = False
    reflection: float = 0.0
    """Strength of the fly's image in the surface (needs ``Tank.surface_y``)."""
    ghost: float = 0.0
    """Strength of the fly's image in the right-hand wall."""
    people: int = 0
    """People who walk to and fro behind the tank."""
    ramp: float = 0.0
    """Change of the exposure from the first to the last frame, as a share."""
    waves: float = 0.0
    """Height of the waves on the surface, root mean square [m]."""
    writing: bool = False
    """A date and a maker's mark burnt into every picture."""
    dirt: bool = False
    """Soft specks on the lens."""


@dataclass(frozen=True)
class Timing:
    """When frames are taken and what the file says about it."""

    fps: float = 60.0
    jitter: float = 0.0
    """Root mean square of the instants about an even beat [s]; the time stamps follow it."""
    dropped: float = 0.0
    """Share of frames lost, never the first."""
    stretch: float = 1.0
    """Played this many times slower than taken."""
    tag: bool = True
    """Write the capture rate into a stretched clip."""
    start_offset: float = 0.0
    """Time stamp of the first frame [s]."""


@dataclass(frozen=True)
class Encoding:
    """How the clip is compressed."""

    codec: str = "h264"
    ten_bit: bool = False
    crf: float = 20
    preset: str = "veryfast"
    bframes: int = 2
    keyint: int | None = None
    """Frames between key frames; None takes one a second of capture."""
    full_range: bool = False
    tint: tuple[int, int] = (127, 127)
    """Chroma of the whole picture (blue and red difference, 128 is grey)."""
    tags: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Scene:
    """A whole clip: same scene and seed, same pictures."""

    camera: Camera = field(default_factory=Camera)
    tank: Tank = field(default_factory=Tank)
    card: CardSetting | None = field(default_factory=CardSetting)
    backdrop: Backdrop = field(default_factory=Backdrop)
    fly: Fly = field(default_factory=Fly)
    drops: tuple[Drop, ...] = (Drop(),)
    extras: Extras = field(default_factory=Extras)
    timing: Timing = field(default_factory=Timing)
    encoding: Encoding = field(default_factory=Encoding)
    duration: float = 2.0
    """Real time filmed [s]."""
    seed: int = 1

    def but(self, **changes: Any) -> Scene:
        """Return a copy with nested changes: ``scene.but(timing__fps=240, drops__all__wander=0.001)``."""
        scene = self
        for name, value in changes.items():
            scene = change(scene, name.replace("__", "."), value)
        return scene


def change(thing: Any, path: str, value: Any) -> Any:
    """Return a copy with one nested field changed.

    >>> change(Scene(), "timing.fps", 240.0).timing.fps
    240.0
    >>> [drop.wander for drop in change(Scene(), "drops.*.wander", 0.002).drops]
    [0.002]
    """
    name, _, rest = path.partition(".")
    if isinstance(thing, tuple):
        chosen = range(len(thing)) if name in EVERY else [int(name)]
        return tuple(
            (change(one, rest, value) if rest else value) if place in chosen else one
            for place, one in enumerate(thing)
        )
    if name not in {known.name for known in fields(thing)}:
        raise KeyError(f"{type(thing).__name__} has no field {name!r}")
    return replace(thing, **{name: change(getattr(thing, name), rest, value) if rest else value})
