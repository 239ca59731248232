"""A drop: how fast it lands, with what energy, and how hard it stops.

Sources
[1] Derived from constant acceleration and from energy: v = sqrt(2 g h), E = m g h, mean stop a = g h / s.
[2] Derived: falling against a drag that grows with v^2, v = vt sqrt(1 - exp(-2 g h / vt^2)) with
    vt = sqrt(2 m g / rho Cd A).
[3] Derived: a cushion that pushes back in proportion to how far it is pressed peaks at twice the mean.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.constants import AIR_DENSITY, GRAVITY, GRAVITY_N_PER_G
from rungwright.measure.statics import above_zero

Array = NDArray[np.float64]


def free_fall_speed(*, height_mm: ArrayLike) -> Array:
    """Speed after a fall from rest, no drag [m/s] [1]. Height above 0."""
    above_zero(height_mm=height_mm)
    return np.sqrt(2 * GRAVITY * np.asarray(height_mm, float) * 1e-3)


def terminal_speed(*, mass_g: ArrayLike, drag: ArrayLike, face_mm2: ArrayLike) -> Array:
    """Speed at which drag bears the weight [m/s] [2]. All above 0."""
    above_zero(mass_g=mass_g, drag=drag, face_mm2=face_mm2)
    weight = np.asarray(mass_g) * GRAVITY_N_PER_G
    return np.sqrt(weight / (AIR_DENSITY / 2 * np.asarray(drag) * np.asarray(face_mm2) * 1e-6))


def speed_with_drag(*, height_mm: ArrayLike, terminal: ArrayLike) -> Array:
    """Speed after a fall from rest against drag [m/s] [2]; nears `free_fall_speed` as `terminal` [m/s] grows."""
    above_zero(height_mm=height_mm, terminal=terminal)
    vt = np.asarray(terminal, float)
    return vt * np.sqrt(-np.expm1(-2 * GRAVITY * np.asarray(height_mm, float) * 1e-3 / vt**2))


def impact_energy_j(*, mass_g: ArrayLike, speed: ArrayLike) -> Array:
    """m v^2 / 2 [J]; mass above 0, speed [m/s] 0 or more."""
    above_zero(mass_g=mass_g)
    return np.asarray(mass_g) * 1e-3 * np.asarray(speed, float) ** 2 / 2


def mean_stop_g(*, speed: ArrayLike, stopping_mm: ArrayLike) -> Array:
    """Mean deceleration while stopping over a distance, in g [1]: v^2 / 2 g s. The weight adds 1 g to the push."""
    above_zero(stopping_mm=stopping_mm)
    return np.asarray(speed, float) ** 2 / (2 * GRAVITY * np.asarray(stopping_mm, float) * 1e-3)


PEAK_OVER_MEAN = (1.0, 2.0)
"""A cushion that crushes evenly, and one that pushes back like a spring [3]."""
