"""Refractive index of water, and of the walls of tanks."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from flybench.quantity import Floats, inside

DAYLIGHT = 550e-9
"""Middle of what a camera sees as brightness [m]: the eye is keenest at 555 nm, cameras follow it (judgement)."""

WALL_INDEX = {
    "acrylic": 1.49,
    "borosilicate": 1.47,
    "glass": 1.52,
    "polycarbonate": 1.585,
    "polystyrene": 1.59,
}
"""Refractive index of wall materials for yellow light (589 nm) [-], good to 0.01.

Common handbook values, from memory: PMMA 1.49, borosilicate crown as in laboratory ware 1.47, soda-lime
float glass 1.52, polycarbonate 1.585, polystyrene 1.59. A wall moves the picture by the
thickness times the difference of 1/n, so 0.01 at a 4 mm wall moves it by less than 0.02 mm.
"""

_A = (
    0.244257733,
    9.74634476e-3,
    -3.73234996e-3,
    2.68678472e-4,
    1.58920570e-3,
    2.45934259e-3,
    0.900704920,
    -1.66626219e-2,
)
"""a0 to a7 of IAPWS R9-97 [-], table 1."""
_ULTRAVIOLET = 0.2292020
"""L_UV, the ultraviolet resonance over the reference wavelength [-]: IAPWS R9-97, table 1."""
_INFRARED = 5.432937
"""L_IR, the infrared resonance over the reference wavelength [-]: as L_UV."""
_REFERENCE_TEMPERATURE = 273.15
"""T* of IAPWS R9-97 [K]."""
_REFERENCE_DENSITY = 1000.0
"""rho* of IAPWS R9-97 [kg/m3]."""
_REFERENCE_WAVELENGTH = 0.589e-6
"""L* of IAPWS R9-97 [m]."""
_COLDEST, _HOTTEST = 261.15, 773.15
"""Range of the formula [K]: IAPWS R9-97, -12 to 500 degrees Celsius."""
_DENSEST = 1060.0
"""Highest density of the formula [kg/m3]: IAPWS R9-97."""
_NANO = 1e9
"""Nanometres in a metre [nm/m], in which users speak of light."""
_SHORTEST, _LONGEST = 0.2e-6, 1.1e-6
"""Wavelengths of the formula [m]: IAPWS R9-97."""


def refractive_index(temperature: ArrayLike, density: ArrayLike, wavelength: ArrayLike = DAYLIGHT) -> Floats:
    """Return the refractive index of water against vacuum.

    (n^2 - 1) / [(n^2 + 2) r] = a0 + a1 r + a2 T + a3 L^2 T + a4 / L^2 + a5 / (L^2 - L_UV^2)
    + a6 / (L^2 - L_IR^2) + a7 r^2, with r, T, L over 1000 kg/m3, 273.15 K and 589 nm.

    Parameters: temperature [K]; density [kg/m3]; wavelength in vacuum [m].
    Returns: refractive index [-]; divide by 1.00027 for the index against air.
    Range: 261.15 to 773.15 K, up to 1060 kg/m3, 200 to 1100 nm; BadValueError outside.
    Reference: IAPWS R9-97, Release on the Refractive Index of Ordinary Water Substance (1997);
    Harvey, Gallagher & Levelt Sengers (1998), J. Phys. Chem. Ref. Data 27, 761-774,
    doi:10.1063/1.556029.

    >>> round(float(refractive_index(298.15, 997.047435, 589.3e-9)), 6)
    1.332858
    """
    t = (
        inside("temperature", temperature, _COLDEST, _HOTTEST, "K", "Use liquid water.")
        / _REFERENCE_TEMPERATURE
    )
    r = inside("density", density, 0.0, _DENSEST, "kg/m3", "Use the density of water.") / _REFERENCE_DENSITY
    nanometres = np.asarray(wavelength, dtype=float) * _NANO
    cure = "Use visible light, 400 to 700 nm."
    inside("wavelength", np.round(nanometres, 6), _SHORTEST * _NANO, _LONGEST * _NANO, "nm", cure)
    seen = np.asarray(wavelength, dtype=float)
    square = (seen / _REFERENCE_WAVELENGTH) ** 2
    dispersion = _A[4] / square + _A[5] / (square - _ULTRAVIOLET**2) + _A[6] / (square - _INFRARED**2)
    refraction = r * (_A[0] + _A[1] * r + _A[2] * t + _A[3] * square * t + dispersion + _A[7] * r**2)
    return np.sqrt((1 + 2 * refraction) / (1 - refraction))
