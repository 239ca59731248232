"""Ranges carried through a formula without random draws: a fixed lattice of points, and quantiles in closed form."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from rungwright.measure.constants import MATERIAL, Quantity

Points = Mapping[str, NDArray[np.float64]]
"""Materials at the points of the lattice, each of shape (POINTS,)."""

POINTS = 1021
_GENERATOR = 76  # good Korobov generator for 1021 points: L'Ecuyer and Lemieux (2000), table 1, from memory


@cache
def lattice(dimensions: int) -> NDArray[np.float64]:
    """A Korobov lattice inside (0, 1), shape (POINTS, dimensions): evenly spread and the same at every start."""
    step = [pow(_GENERATOR, k, POINTS) for k in range(dimensions)]
    points = (np.outer(np.arange(POINTS), step) % POINTS + 0.5) / POINTS
    points.setflags(write=False)
    return points


def spread_over(ranges: Mapping[str, Quantity]) -> dict[str, NDArray[np.float64]]:
    """Every quantity at the lattice's points, evenly over its range, or over its logarithm where it says so."""
    unit = lattice(len(ranges))
    out = {}
    for (name, q), u in zip(ranges.items(), unit.T, strict=True):
        out[name] = q.low * (q.high / q.low) ** u if q.log else q.low + (q.high - q.low) * u
    return out


Materials = tuple[tuple[str, float, float], ...]
"""Materials that were measured: name in `constants.MATERIAL`, lowest and highest; in order of name, empty for none."""


@lru_cache(maxsize=64)
def material_points(measured: Materials = ()) -> Points:
    """The materials at the lattice's points, over their usual ranges or those measured; KeyError for a name unknown."""
    unit = lattice(len(MATERIAL))
    at = dict(zip(MATERIAL, unit.T, strict=True))
    points = spread_over(MATERIAL)
    for name, low, high in measured:
        points[name] = low + (high - low) * at[name]
    return points


def low_mid_high(values: NDArray) -> NDArray[np.float64]:
    """5 %, 50 % and 95 % quantiles over the first axis, stacked along a new last one."""
    # As np.quantile does it, linear between order statistics, without its cost for each call.
    values = np.asarray(values, float)
    at = np.array([0.05, 0.5, 0.95]) * (len(values) - 1)
    below = np.floor(at).astype(np.int64)
    above = np.minimum(below + 1, len(values) - 1)
    ordered = np.partition(values, np.unique([below, above]), axis=0)
    part = (at - below).reshape(-1, *(1,) * (ordered.ndim - 1))
    return np.moveaxis(ordered[below] + part * (ordered[above] - ordered[below]), 0, -1)


def combined(mid: NDArray, *ratios: NDArray | float) -> NDArray[np.float64]:
    """5 % or 95 % point of a product: `mid` times exp of the root of the squared log ratios of its factors.

    `mid` is the product of the factors' medians, a ratio a factor's quantile over its median, above 0; all are at most
    1 or all at least 1, ValueError otherwise. Exact for independent lognormal factors. The result rises with every
    factor's median and with every quantile.
    """
    logs = [np.log(r) for r in ratios]
    up = all(np.all(x >= 0) for x in logs)
    if not up and not all(np.all(x <= 0) for x in logs):
        raise ValueError("ratios must all be at most 1 or all at least 1")
    spread = np.sqrt(sum(x * x for x in logs))
    return mid * np.exp(spread if up else -spread)
