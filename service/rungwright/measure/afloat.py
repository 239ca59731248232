"""A box-shaped raft or hull afloat: how deep it lies, what it carries, whether it stays upright.

The waterline runs along upright sides; trim lengthwise and waves are not looked at. Lengths in mm, masses in g.

Sources
[1] Archimedes; derived: draught = mass / (rho L B), 1 g of water is 1000 mm3.
[2] Nicholls's Seamanship and Nautical Knowledge, box-shaped vessel: KB = T/2, BM = B^2 / 12 T, GM = KB + BM - KG.
[3] Wall-sided formula GZ = sin a (GM + BM tan^2 a / 2), naval architecture; follows from the geometry of the box.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.statics import above_zero

Array = NDArray[np.float64]

MM3_PER_G = 1000.0
"""Fresh water; 1.025 times more is carried by sea water."""


def draught_mm(*, mass_g: ArrayLike, length_mm: ArrayLike, width_mm: ArrayLike) -> Array:
    """Depth of the bottom under water [mm] [1]. All above 0; more than the sides' height means that it sinks."""
    above_zero(mass_g=mass_g, length_mm=length_mm, width_mm=width_mm)
    return np.asarray(mass_g, float) * MM3_PER_G / (np.asarray(length_mm, float) * width_mm)


def capacity_g(
    *,
    length_mm: ArrayLike,
    width_mm: ArrayLike,
    height_mm: ArrayLike,
    own_mass_g: ArrayLike,
    freeboard_mm: ArrayLike = 0.0,
) -> Array:
    """Cargo at which only this freeboard is left [g]; negative where it cannot even bear itself [1]."""
    above_zero(length_mm=length_mm, width_mm=width_mm, height_mm=height_mm, own_mass_g=own_mass_g)
    under = np.asarray(height_mm, float) - freeboard_mm
    return np.asarray(length_mm, float) * width_mm * under / MM3_PER_G - own_mass_g


def metacentric_height_mm(*, draught: ArrayLike, width_mm: ArrayLike, centre_of_mass_mm: ArrayLike) -> Array:
    """GM = T/2 + B^2 / 12 T - KG [mm] [2]: above 0 it stands upright. KG is measured from the bottom, 0 or more."""
    above_zero(draught=draught, width_mm=width_mm)
    t, b = np.asarray(draught, float), np.asarray(width_mm, float)
    return t / 2 + b**2 / (12 * t) - centre_of_mass_mm


def list_deg(*, moment_g_mm: ArrayLike, mass_g: ArrayLike, gm_mm: ArrayLike, bm_mm: ArrayLike) -> Array:
    """Angle at which it lies still with a load off its centre line [degrees] [3].

    With x = tan a: GM x + BM x^3 / 2 = moment / mass, the largest real root; `moment_g_mm` (load times its distance
    from the centre line) is 0 or more. Holds while neither deck edge nor bottom edge crosses the water. An upright
    raft with GM below 0 lies over at the angle of loll.
    """
    above_zero(mass_g=mass_g, bm_mm=bm_mm)
    arm, gm, bm = np.broadcast_arrays(
        np.asarray(moment_g_mm, float) / np.asarray(mass_g, float), np.asarray(gm_mm, float), np.asarray(bm_mm, float)
    )
    # Cardano for x^3 + p x - q = 0 with q >= 0: its largest root is the one at which the raft lies still.
    p, q = 2 * gm / bm, 2 * arm / bm
    inside = (q / 2) ** 2 + (p / 3) ** 3
    root = np.sqrt(np.maximum(inside, 0))
    one = np.cbrt(q / 2 + root) + np.cbrt(q / 2 - root)
    size = 2 * np.sqrt(np.maximum(-p / 3, 0))
    cosine = np.divide(3 * q, p * size, out=np.zeros_like(q), where=(inside < 0))
    three = size * np.cos(np.arccos(np.clip(-cosine, -1, 1)) / 3)
    return np.degrees(np.arctan(np.where(inside < 0, three, one)))


def edge_under_deg(*, draught: ArrayLike, height_mm: ArrayLike, width_mm: ArrayLike) -> Array:
    """List at which the deck edge reaches the water, tan a = 2 freeboard / B [degrees] [1]; 0 where it is under."""
    above_zero(draught=draught, height_mm=height_mm, width_mm=width_mm)
    freeboard = np.maximum(np.asarray(height_mm, float) - draught, 0)
    return np.degrees(np.arctan(2 * freeboard / np.asarray(width_mm, float)))
