"""Columns that are pushed sideways too: the push bends them, and the weight on top makes the bending grow.

Units N, mm, MPa. Every function raises ValueError for sizes of 0 or less, or a weight from the buckling load on.

Sources
[1] Exact solutions of E I y'' + P y = M0 (Timoshenko and Gere, Theory of Elastic Stability); the American Institute of
    Steel Construction prints the same in its benchmark problems for second-order analysis.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.statics import euler_load

Array = NDArray[np.float64]


def pushed_evenly(
    *, load_per_length: ArrayLike, axial: ArrayLike, length: ArrayLike, e: ArrayLike, inertia: ArrayLike
) -> tuple[Array, Array]:
    """Both ends pinned: largest moment [N mm] and sag [mm] under an even push w [N/mm] and an axial load P [N] [1].

    M = w L^2/8 * 2 (sec u - 1)/u^2 and d = 5 w L^4/384 E I * 12 (2 sec u - 2 - u^2)/(5 u^4), u = L/2 sqrt(P / E I).
    """
    p, span, ei = _loaded(axial, length, e, inertia, k=1.0)
    u = span / 2 * np.sqrt(p / ei)
    w = np.asarray(load_per_length, float)
    small = u < 1e-2
    safe = np.where(small, 1.0, u)
    sec = 1 / np.cos(safe)
    grows = np.where(small, 1 + 5 * u**2 / 12, 2 * (sec - 1) / safe**2)
    sags = np.where(small, 1 + 61 * u**2 / 150, 12 * (2 * sec - 2 - safe**2) / (5 * safe**4))
    return w * span**2 / 8 * grows, 5 * w * span**4 / (384 * ei) * sags


def pushed_at_the_tip(
    *, load: ArrayLike, axial: ArrayLike, length: ArrayLike, e: ArrayLike, inertia: ArrayLike
) -> tuple[Array, Array]:
    """Foot fixed, top free: moment at the foot [N mm] and sag of the tip [mm] under a side load and an axial one [1].

    M = W L tan u/u and d = W L^3/3 E I * 3 (tan u - u)/u^3, u = L sqrt(P / E I).
    """
    p, span, ei = _loaded(axial, length, e, inertia, k=2.0)
    u = span * np.sqrt(p / ei)
    side = np.asarray(load, float)
    small = u < 1e-2
    safe = np.where(small, 1.0, u)
    grows = np.where(small, 1 + u**2 / 3, np.tan(safe) / safe)
    sags = np.where(small, 1 + 2 * u**2 / 5, 3 * (np.tan(safe) - safe) / safe**3)
    return side * span * grows, side * span**3 / (3 * ei) * sags


def _loaded(
    axial: ArrayLike, length: ArrayLike, e: ArrayLike, inertia: ArrayLike, *, k: float
) -> tuple[Array, Array, Array]:
    buckles = euler_load(e=e, inertia=inertia, length=length, k=k)
    p = np.asarray(axial, float)
    if not np.all((p >= 0) & (p < buckles)):
        raise ValueError(f"axial must be from 0 to below the buckling load, not {axial!r}")
    return p, np.asarray(length, float), np.asarray(e, float) * inertia
