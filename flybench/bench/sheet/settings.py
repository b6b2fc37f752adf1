"""What the user says about the tank, the camera, the scale and the fly: plain records in SI units."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from flybench.hydraulics.water import Water

Point = tuple[float, float]

TYPED_UNCERTAINTY = 0.0015
"""Standard uncertainty of a typed distance [m]: +-3 mm, k = 2, as a tape along a tank is read (judgement), unless the sheet
says otherwise."""
TEMPERATURE_UNCERTAINTY = 0.5
"""Standard uncertainty of the water temperature [K]: +-1 K, k = 2, as a kitchen thermometer tells it
(judgement), unless the sheet says otherwise."""
GAP_UNCERTAINTY = 0.003
"""Standard uncertainty of the gap between the scale and the fly [m]: +-6 mm, k = 2. Read with a ruler it would be +-3 mm, but
tweezers over the water let go as far off by eye, from drop to drop and all of them alike (judgement)."""
UNKNOWN_GAP = 0.015
"""Standard uncertainty of the gap where a card stands in the tank and nobody said how far behind the fly [m]: it is then
taken as nothing, and may be some 30 mm (judgement)."""
LENGTH_UNCERTAINTY = 0.0005
"""Standard uncertainty of the distance between two typed points [m]: +-1 mm, k = 2, as a ruler in the
water is read (judgement)."""
MASS_UNCERTAINTY = 0.01
"""Relative standard uncertainty of a typed mass [-]: +-2 %, k = 2, a milligram on 0.1 g (judgement), unless the
sheet says otherwise."""
VOLUME_UNCERTAINTY = 0.05
"""Relative standard uncertainty of a typed volume [-]: +-10 %, k = 2, as a fly in a small cylinder is read (judgement)."""
BAR_UNCERTAINTY = 0.00015
"""Standard uncertainty of a bar read with a ruler [m]: +-0.3 mm, k = 2, a third of its division (judgement)."""
UNCHECKED_PRINT = 0.005
"""Relative standard uncertainty of a printed card whose bar nobody measured (judgement): +-1 %, k = 2."""
LEAST_GAP = 0.003
"""Least gap between card and fly that is believed [m]: half of a small fly and of the fingers or tweezers that let it go lie
between (judgement)."""
USUAL_PRINT = 0.0301
"""Difference of the bar from 100 mm from which it is to be measured again, relative [-]: printers stay within 3 %, or fit a
page by 3 to 6 % (common practice, no source); the last digit lets 97 mm pass as typed."""
MOST_PRINTED = 0.07
"""Largest difference of the bar from 100 mm that printers make, relative [-]: a card for A4 fitted to letter paper is 6 %
smaller (ISO 216, ANSI/ASME Y14.1); what is off by more was rather read wrongly, and is uncertain by as much."""
POINTS_UNCERTAINTY_PX = 0.5
"""Standard uncertainty of each typed scale point along the line between them [px]: a click is good to a pixel,
k = 2 (judgement)."""


@dataclass(frozen=True)
class Length:
    """A typed distance and its standard uncertainty [m]."""

    value: float
    standard_uncertainty: float = TYPED_UNCERTAINTY

    def shifted(self, sigmas: float) -> Length:
        """Return the distance moved by so many standard uncertainties [-]."""
        return replace(self, value=self.value + sigmas * self.standard_uncertainty)


@dataclass(frozen=True)
class TankSettings:
    """Inner sizes and ``wall``, its thickness [m]; a round column has ``diameter`` and no width or depth.

    ``wall_index`` is the refractive index of the wall [-], at first that of acrylic.
    """

    width: float | None = None
    depth: float | None = None
    diameter: float | None = None
    wall: float = 0.0
    wall_index: float = 1.49
    fall_plane: Length | None = None

    @property
    def shortest_side(self) -> float | None:
        """Return the side that slows the fly most [m]."""
        sides = [side for side in (self.width, self.depth, self.diameter) if side is not None]
        return min(sides) if sides else None

    @property
    def depth_along_view(self) -> float | None:
        """Return the inner size along the line of sight [m]."""
        return self.depth if self.depth is not None else self.diameter


@dataclass(frozen=True)
class CameraSettings:
    """Lens to outer front face, true capture rate [Hz], sensor readout first to last row [s]."""

    distance: Length | None = None
    capture_rate: float | None = None
    readout: float | None = None


@dataclass(frozen=True)
class ScaleSettings:
    """The printed card in the water, or two points of the upright first frame and their true distance."""

    card: bool = False
    bar: Length | None = None
    points: tuple[Point, Point] | None = None
    picture: tuple[int, int] | None = None
    """Width and height of the picture that the points were read off [px], None where that was not told."""
    length: Length | None = None
    gap: Length = field(default_factory=lambda: Length(0.0, GAP_UNCERTAINTY))

    gap_known: bool = True

    @property
    def source(self) -> str:
        """Name the scale as results do."""
        return "card" if self.card else "points"


@dataclass(frozen=True)
class FlySettings:
    """What is known of the fly; masses [kg], volume [m3], bead diameter [m]; (value, standard uncertainty)."""

    code: str | None = None
    name: str | None = None
    """What the fly is called on its page."""
    mass: tuple[float, float] | None = None
    mass_in_water: tuple[float, float] | None = None
    volume: tuple[float, float] | None = None
    bead: float | None = None


@dataclass(frozen=True)
class Settings:
    """Everything about one clip; temperature [K], salinity [kg/kg]."""

    temperature: float
    temperature_uncertainty: float = TEMPERATURE_UNCERTAINTY
    salinity: float = 0.0
    tank: TankSettings = field(default_factory=TankSettings)
    camera: CameraSettings = field(default_factory=CameraSettings)
    scale: ScaleSettings = field(default_factory=ScaleSettings)
    fly: FlySettings = field(default_factory=FlySettings)
    without: dict[int, str] = field(default_factory=dict)
    """Why a drop is left out, by its number from 1."""

    @property
    def water(self) -> Water:
        """The water in the tank; raises BadValueError outside the range of its formulas."""
        return Water(self.temperature, self.salinity)
