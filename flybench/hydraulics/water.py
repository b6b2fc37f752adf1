"""Density and viscosity of fresh and salt water at atmospheric pressure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from flybench.quantity import ZERO_CELSIUS, Floats, inside

FREEZING = ZERO_CELSIUS
"""Lowest temperature of the formulas [K]: zero degrees Celsius, below which fresh water is ice."""
HOTTEST = 313.15
"""Highest temperature of the formulas [K]: Tanaka et al. (2001) end at 40 degrees Celsius."""
SALTIEST = 0.042
"""Highest salinity of the equation of state [kg/kg]: practical salinity 42 (Millero & Poisson 1981, from memory)."""

_TANAKA = (-3.983035, 301.797, 522528.9, 69.34881, 999.974950)
"""a1 [degC], a2 [degC], a3 [degC2], a4 [degC] and a5 [kg/m3] of Tanaka et al. (2001), table 1 (from memory)."""
_IAPWS = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
"""Factors [uPa s] and powers [-] of the temperature over 300 K: IAPWS SR6-08, eq. for the viscosity at 0.1 MPa."""
_IAPWS_TEMPERATURE = 300.0
"""Temperature to which IAPWS SR6-08 refers [K]."""
_EOS80_LINEAR = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
"""A over powers of t [kg/m3, degC] of the equation of state of seawater: Millero & Poisson (1981)."""
_EOS80_THREE_HALVES = (-5.72466e-3, 1.0227e-4, -1.6546e-6)
"""B over powers of t [kg/m3, degC]: as A."""
_EOS80_SQUARE = 4.8314e-4
"""C [kg/m3]: as A."""
_SALT_LINEAR = (1.541, 1.998e-2, -9.52e-5)
"""A of the viscosity of seawater over powers of t [-, degC]: Sharqawy, Lienhard & Zubair (2010), eq. 22."""
_SALT_SQUARE = (7.974, -7.561e-2, 4.724e-4)
"""B over powers of t [-, degC]: as A."""
_PRACTICAL_PER_ABSOLUTE = 35.0 / 0.03516504
"""Practical salinity [-] over absolute salinity [kg/kg] of Reference-Composition seawater (TEOS-10, from memory)."""
_T68_PER_T90 = 1.00024
"""Scale of the equation of state's temperatures (IPTS-68) over today's (ITS-90), both in Celsius [-] (from memory)."""

_WATERS_KEPT = 4096
"""Waters whose density and viscosity are remembered [-]: thermometers are read to a tenth of a degree (judgement)."""


@dataclass(frozen=True)
class Water:
    """Still water at one temperature [K] and salinity [kg/kg], at atmospheric pressure.

    Raises BadValueError outside 273.15 to 313.15 K and 0 to 0.042 kg/kg. References: ``density``, ``viscosity``.

    >>> water = Water(temperature=293.15)
    >>> round(water.density, 3), round(water.viscosity * 1e3, 4)
    (998.207, 1.0016)
    """

    temperature: float
    salinity: float = 0.0

    def __post_init__(self) -> None:
        """Refuse water outside the range of the formulas."""
        _looked_at(self.temperature, self.salinity)

    @cached_property
    def density(self) -> float:
        """Density [kg/m3]."""
        return _density_of(self.temperature, self.salinity)

    @cached_property
    def viscosity(self) -> float:
        """Dynamic viscosity [Pa s]."""
        return _viscosity_of(self.temperature, self.salinity)

    @cached_property
    def kinematic_viscosity(self) -> float:
        """Kinematic viscosity [m2/s]."""
        return self.viscosity / self.density


@lru_cache(maxsize=_WATERS_KEPT)
def _looked_at(temperature: float, salinity: float) -> None:
    """Refuse water outside the range of the formulas; what was found good is not looked at again."""
    _celsius(temperature)
    _salt(salinity)


@lru_cache(maxsize=_WATERS_KEPT)
def _density_of(temperature: float, salinity: float) -> float:
    return float(density(temperature, salinity))


@lru_cache(maxsize=_WATERS_KEPT)
def _viscosity_of(temperature: float, salinity: float) -> float:
    return float(viscosity(temperature, salinity))


def density(temperature: ArrayLike, salinity: ArrayLike = 0.0) -> Floats:
    """Return the density of air-free water at 101325 Pa.

    rho = a5 [1 - (t + a1)^2 (t + a2) / (a3 (t + a4))] + A S + B S^1.5 + C S^2
    with t in Celsius, S the practical salinity, and A, B, C polynomials of t.

    Parameters: temperature [K]; salinity, the absolute salinity [kg/kg].
    Returns: density [kg/m3].
    Range: 273.15 to 313.15 K, 0 to 0.042 kg/kg; BadValueError outside. Air-saturated water is up to 0.0046 kg/m3 lighter.
    References: fresh water, Tanaka, Girard, Davis, Peuto & Bignell (2001), Metrologia 38, 301-309,
    doi:10.1088/0026-1394/38/4/3 (constants from memory; they match IAPWS-95 within 0.0012 kg/m3);
    salt, Millero & Poisson (1981), Deep-Sea Research 28A, 625-629, doi:10.1016/0198-0149(81)90122-9,
    as in Fofonoff & Millard (1983), UNESCO Technical Papers in Marine Science 44.
    Difference from the paper: the salt terms stand on Tanaka's fresh water; the sum is within
    0.003 kg/m3 of TEOS-10.

    >>> round(float(density(293.15)), 4)
    998.2067
    """
    t = _celsius(temperature)
    a1, a2, a3, a4, a5 = _TANAKA
    fresh = a5 * (1 - (t + a1) ** 2 * (t + a2) / (a3 * (t + a4)))
    practical = _salt(salinity) * _PRACTICAL_PER_ABSOLUTE
    old_scale = t * _T68_PER_T90
    linear = np.polynomial.polynomial.polyval(old_scale, _EOS80_LINEAR)
    three_halves = np.polynomial.polynomial.polyval(old_scale, _EOS80_THREE_HALVES)
    return np.asarray(
        fresh + practical * (linear + three_halves * np.sqrt(practical) + _EOS80_SQUARE * practical)
    )


def viscosity(temperature: ArrayLike, salinity: ArrayLike = 0.0) -> Floats:
    """Return the dynamic viscosity of liquid water at 0.1 MPa.

    mu = 1e-6 (280.68 T^-1.9 + 511.45 T^-7.7 + 61.131 T^-19.6 + 0.45903 T^-40) (1 + A S + B S^2),
    T the temperature over 300 K; with t in Celsius A = 1.541 + 1.998e-2 t - 9.52e-5 t^2 and
    B = 7.974 - 7.561e-2 t + 4.724e-4 t^2.

    Parameters: temperature [K]; salinity, the absolute salinity [kg/kg].
    Returns: dynamic viscosity [Pa s].
    Range: 273.15 to 313.15 K, 0 to 0.042 kg/kg, BadValueError outside; the salt factor is good to 1.5 % (from memory).
    References: fresh water, IAPWS SR6-08, Pátek, Hrubý, Klomfar, Součková & Harvey (2009), J. Phys.
    Chem. Ref. Data 38, 21-29, doi:10.1063/1.3043575; salt, Sharqawy, Lienhard & Zubair (2010),
    Desalination and Water Treatment 16, 354-380, eq. 22-23, doi:10.5004/dwt.2010.1079.
    Difference from the paper: the salt factor multiplies the IAPWS fresh water, not the paper's own.

    >>> round(float(viscosity(293.15)) * 1e3, 5)
    1.00157
    """
    t = _celsius(temperature)
    share = _salt(salinity)
    fresh = sum(factor * ((t + FREEZING) / _IAPWS_TEMPERATURE) ** power for factor, power in _IAPWS) * 1e-6
    linear = _SALT_LINEAR[0] + _SALT_LINEAR[1] * t + _SALT_LINEAR[2] * t**2
    square = _SALT_SQUARE[0] + _SALT_SQUARE[1] * t + _SALT_SQUARE[2] * t**2
    return np.asarray(fresh * (1 + linear * share + square * share**2))


def _celsius(temperature: ArrayLike) -> Floats:
    """Return the temperature in Celsius, or refuse it in Celsius."""
    cure = "Give the temperature measured in the water."
    degrees = np.asarray(temperature, dtype=float) - FREEZING
    inside("temperature", np.round(degrees, 6), 0.0, HOTTEST - FREEZING, "degC", cure)
    return degrees


def _salt(salinity: ArrayLike) -> Floats:
    """Return the salinity, or refuse it."""
    share = np.asarray(salinity, dtype=float)
    inside("salinity", share * 1e3, 0.0, SALTIEST * 1e3, "g/kg", "The open sea has about 35 g/kg.")
    return share
