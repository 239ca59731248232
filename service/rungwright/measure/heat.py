"""Heat through layers, and how fast something warm cools.

Sources
[1] ISO 6946, from memory: R = sum d / lambda + Rsi + Rse; still air at a surface 0.13 m2K/W (0.10 up, 0.17 down).
[2] ISO 10456, design thermal values, second hand: felt .05, wool .06, cork .05, softwood .13, hardwood .18,
    polypropylene .22, polyethylene .33 W/mK; cotton fibre .04 and paper board .14 of other tables.
[3] Newton's law of cooling for contents that mix well: T = Ta + (T0 - Ta) exp(-t U A / m c). Derived.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.constants import Quantity
from rungwright.measure.statics import above_zero

Array = NDArray[np.float64]

WATER_J_PER_G_K = 4.18

CONDUCTIVITY: dict[str, Quantity] = {
    "bubble_wrap": Quantity(0.035, 0.06, "W/mK", "still air .026 in cells that let some heat past", "from memory"),
    "card": Quantity(0.06, 0.14, "W/mK", "solid board about .14; less with air in it", "second hand"),
    "corrugated_card": Quantity(0.045, 0.07, "W/mK", "board with air between its liners", "from memory"),
    "cork": Quantity(0.04, 0.05, "W/mK", "ISO 10456, cork underlay .05", "second hand"),
    "cotton": Quantity(0.035, 0.06, "W/mK", "cotton fibre .04, loosely packed", "second hand"),
    "felt": Quantity(0.04, 0.057, "W/mK", "ISO 10456, felt underlay .05", "second hand"),
    "foam": Quantity(0.032, 0.04, "W/mK", "expanded polystyrene", "second hand"),
    "newspaper": Quantity(0.05, 0.1, "W/mK", "crumpled or in sheets with air between", "from memory"),
    "paper": Quantity(0.05, 0.14, "W/mK", "paper and board", "from memory"),
    "plastic": Quantity(0.2, 0.33, "W/mK", "ISO 10456, polypropylene .22, polyethylene .33", "second hand"),
    "still_air": Quantity(0.026, 0.08, "W/mK", "air at rest .026; in wide gaps it moves", "from memory"),
    "wood": Quantity(0.12, 0.18, "W/mK", "ISO 10456, softwood .13, hardwood .18", "second hand"),
    "wool": Quantity(0.035, 0.06, "W/mK", "ISO 10456, wool underlay .06", "second hand"),
}  # fmt: skip
"""Thermal conductivity, dry."""

SURFACES = Quantity(0.1, 0.17, "m2K/W", "ISO 6946, still air at one surface, 0.13 for walls", "from memory")
SURFACES_IN_WIND = Quantity(0.03, 0.06, "m2K/W", "ISO 6946, surface in wind, 0.04 outdoors", "from memory")


def layers_resistance(*, thickness_mm: Sequence[ArrayLike], conductivity: Sequence[ArrayLike]) -> Array:
    """Sum of d / lambda [m2K/W] [1]; thicknesses [mm] and conductivities [W/mK] above 0, as many of each."""
    total = np.zeros(())
    for d, k in zip(thickness_mm, conductivity, strict=True):
        above_zero(thickness_mm=d, conductivity=k)
        total = total + np.asarray(d, float) * 1e-3 / np.asarray(k, float)
    return total


def u_value(*, layers: ArrayLike, surfaces: ArrayLike) -> Array:
    """Heat through a square metre for each degree [W/m2K] [1]; resistances [m2K/W], `surfaces` above 0, both sides."""
    above_zero(surfaces=surfaces)
    return 1 / (np.asarray(layers, float) + surfaces)


def time_constant_min(
    *, mass_g: ArrayLike, u: ArrayLike, area_mm2: ArrayLike, heat_j_per_g_k: ArrayLike = WATER_J_PER_G_K
) -> Array:
    """Minutes in which the difference to the room falls to 37 %: m c / U A [3]. All above 0."""
    above_zero(mass_g=mass_g, u=u, area_mm2=area_mm2, heat_j_per_g_k=heat_j_per_g_k)
    return np.asarray(mass_g) * heat_j_per_g_k / (np.asarray(u) * np.asarray(area_mm2) * 1e-6) / 60


def temperature_after(*, start: ArrayLike, room: ArrayLike, minutes: ArrayLike, time_constant: ArrayLike) -> Array:
    """Temperature after some minutes [C] [3]; `time_constant` above 0, minutes 0 or more."""
    above_zero(time_constant=time_constant)
    decay = np.exp(-np.asarray(minutes, float) / time_constant)
    return np.asarray(room) + (np.asarray(start, float) - room) * decay
