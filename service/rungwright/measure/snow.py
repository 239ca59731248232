"""Snow as a pressure: what depth of it weighs as much as a load, and the roof snow of a building code.

Sources
[1] Derived: p = rho g d.
[2] rees-oberstdorf.de, weight of snow: density by kind.
[3] ASCE 7-16, worked example: flat-roof snow pf = 0.7 Ce Ct Is pg, and density 0.13 pg + 14 pcf with pg in psf, at
    most 30 pcf (the cap from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.constants import GRAVITY
from rungwright.measure.statics import above_zero

Array = NDArray[np.float64]

PA_PER_PSF = 47.880259
KG_M3_PER_PCF = 16.018463

SNOW_KG_M3: dict[str, tuple[float, float]] = {
    "dry_fresh": (30, 50),
    "fresh": (50, 100),
    "settled_fresh": (100, 200),
    "dry_old": (200, 400),
    "wet_old": (300, 500),
    "firn": (500, 800),
    "ice": (800, 900),
}
"""Density by kind [2]."""


def pressure_of_mass(*, mass_g: ArrayLike, area_mm2: ArrayLike) -> Array:
    """Pressure of a mass spread over a level area [Pa] [1]. Both above 0; ValueError otherwise."""
    above_zero(mass_g=mass_g, area_mm2=area_mm2)
    return np.asarray(mass_g, float) * 1e-3 * GRAVITY / (np.asarray(area_mm2, float) * 1e-6)


def snow_pressure(*, depth_mm: ArrayLike, density_kg_m3: ArrayLike) -> Array:
    """Pressure of a depth of snow [Pa] [1]: 1 m at 100 kg/m3 is 981 Pa. Depth and density above 0."""
    above_zero(depth_mm=depth_mm, density_kg_m3=density_kg_m3)
    return np.asarray(density_kg_m3) * GRAVITY * np.asarray(depth_mm, float) / 1e3


def snow_depth_mm(*, pressure_pa: ArrayLike, density_kg_m3: ArrayLike) -> Array:
    """Depth of snow that presses as hard [mm] [1]. Both above 0."""
    above_zero(pressure_pa=pressure_pa, density_kg_m3=density_kg_m3)
    return np.asarray(pressure_pa, float) / (np.asarray(density_kg_m3) * GRAVITY) * 1e3


def flat_roof_snow(
    *, ground_pa: ArrayLike, exposure: ArrayLike = 1.0, thermal: ArrayLike = 1.0, importance: ArrayLike = 1.0
) -> Array:
    """Design snow of a flat roof [Pa] from that of the ground [3]. Pressure and factors Ce, Ct, Is above 0."""
    above_zero(ground_pa=ground_pa, exposure=exposure, thermal=thermal, importance=importance)
    return 0.7 * np.asarray(exposure) * np.asarray(thermal) * np.asarray(importance) * np.asarray(ground_pa)


def code_density(*, ground_pa: ArrayLike) -> Array:
    """Density that the code takes for roof snow [kg/m3] [3]. Pressure above 0."""
    above_zero(ground_pa=ground_pa)
    return np.minimum(0.13 * np.asarray(ground_pa) / PA_PER_PSF + 14, 30) * KG_M3_PER_PCF
