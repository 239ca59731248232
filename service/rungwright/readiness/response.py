"""What a count of groups says: its chance at an ability, and how that changes with the ability.

Groups of one section differ by a normal effect of their own. A count is one of three kinds: of a first test, of a
second try by those that missed the first, or of the end alone. Every estimate of the project reads counts here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.readiness.nodes import expit, normal_nodes

FIRST, SECOND, END = 0, 1, 2


@dataclass(frozen=True)
class Counts:
    """Counts to be explained; every array is (rows,): `met` of `of` groups.

    `kind` is FIRST, SECOND or END; `keep`, chance that what was met at first is met at the end; `gain`, what a second
    try adds to the ability [logit]; `within_sd`, spread of the groups about their run's mean [logit].
    """

    met: NDArray[np.float64]
    of: NDArray[np.float64]
    kind: NDArray[np.int64]
    keep: NDArray[np.float64]
    gain: NDArray[np.float64]
    within_sd: NDArray[np.float64]

    def score(self, x: NDArray) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Slope of the log-likelihood and Fisher's information at x = ability - difficulty, (rows,) each."""
        chance, slope = self.chance(x)
        weight = slope / np.maximum(chance * (1 - chance), 1e-12)
        return (self.met - self.of * chance) * weight, self.of * slope * weight

    def log_likelihood(self, x: NDArray) -> NDArray[np.float64]:
        """(rows,), but for the binomial coefficients."""
        chance = np.clip(self.chance(x)[0], 1e-12, 1 - 1e-12)
        return self.met * np.log(chance) + (self.of - self.met) * np.log1p(-chance)

    def chance(self, x: NDArray) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The chance of one group at x, and its slope, both averaged over the groups; (rows,) each."""
        z, w = normal_nodes(9)
        eta = x[:, None] + self.within_sd[:, None] * z
        p, q = expit(eta), expit(eta + self.gain[:, None])
        p1, q1 = p * (1 - p), q * (1 - q)
        missed, missed1 = (1 - p) @ w, -(p1 @ w)
        then, then1 = ((1 - p) * q) @ w, ((1 - p) * q1 - p1 * q) @ w
        first, first1 = p @ w, p1 @ w
        # Those that try again are those that missed: the weaker groups of the section.
        second, second1 = then / missed, (then1 * missed - then * missed1) / missed**2
        end, end1 = self.keep * first + then, self.keep * first1 + then1
        return np.choose(self.kind, [first, second, end]), np.choose(self.kind, [first1, second1, end1])
