"""Fixed points and weights for averages over normal spreads: nothing here is drawn at random."""

from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray


@cache
def normal_nodes(count: int) -> tuple[NDArray, NDArray]:
    """Gauss-Hermite points and weights of a standard normal; weights sum to 1."""
    z, w = np.polynomial.hermite_e.hermegauss(count)
    return z, w / w.sum()


@cache
def normal_lattice(count: int, dimensions: int) -> NDArray:
    """`count` x `dimensions` standard normal points of an additive recurrence, evenly spread and always the same.

    Each coordinate advances by a power of the generalised golden ratio; the points are centred afterwards, so that
    their mean is exactly zero in every coordinate.
    """
    ratio = 2.0
    for _ in range(40):
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = ratio ** -np.arange(1, dimensions + 1)
    u = (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1
    z = np.vectorize(NormalDist().inv_cdf)(u)
    return z - z.mean(axis=0)


def expit(x: NDArray | float) -> NDArray:
    """1 / (1 + exp(-x)), safe at both ends."""
    return 0.5 * (1 + np.tanh(0.5 * np.asarray(x, float)))
