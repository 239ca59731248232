"""What share of groups is expected to meet each criterion, and all of them by the end; and the demand of settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.nodes import expit, normal_lattice, normal_nodes
from rungwright.readiness.posterior import Posterior

DEMAND_SHARE = 0.80
"""Demand is the readiness at which this share of groups would meet all criteria by the end."""

_LOW, _HIGH, _STEP = -16.0, 16.0, 0.05
_GRID = np.arange(_LOW, _HIGH + _STEP / 2, _STEP)

_TOGETHER = 100
"""Versions that are put together at once: so many stay in a processor's own memory; of no matter for the answer."""


@dataclass(frozen=True)
class Versions:
    """Versions of a challenge, as the model sees them; every array is (versions, criteria).

    `difficulty` [logit]; `counts`, whether the criterion is part of the version; `second`, whether what was missed can
    be tried again; `keep`, chance that a criterion met at first is met at the end (1 where it is not tested again);
    `gain`, what a second try adds to the ability [logit], alike in all versions.
    """

    difficulty: NDArray[np.float64]
    counts: NDArray[np.bool_]
    second: NDArray[np.bool_]
    keep: NDArray[np.float64]
    gain: NDArray[np.float64]


@lru_cache(maxsize=256)
def _tables(own_sd: float, gain: tuple[float, ...]) -> tuple[NDArray, NDArray]:
    """Chance to meet at once, and to miss and then meet, on the grid, averaged over the criterion's own spread.

    Returns E[p] (grid,) and E[(1 - p) q] (criteria, grid) at x = ability - difficulty, p = expit(x + own), q =
    expit(x + own + gain); `gain`, one a criterion.
    """
    z, w = normal_nodes(7)
    x = _GRID[:, None] + own_sd * z
    p = expit(x)
    return p @ w, np.stack([((1 - p) * expit(x + more)) @ w for more in gain])


def _read(table: NDArray, place: NDArray, row: tuple[NDArray, ...] = ()) -> NDArray:
    """Linear interpolation of a table, or of one row of it for each place, on the even grid."""
    left = place.astype(np.int64)
    low = table[(*row, left)]
    return low + (place - left) * (table[(*row, left + 1)] - low)


Chances = Callable[[NDArray, NDArray], tuple[NDArray, NDArray]]
"""(k,) criteria and (k, points) ability less difficulty, to the chances to meet at once, and to miss and then meet."""


def _all_by_end(versions: Versions, mean: NDArray, v: NDArray, chances: Chances) -> NDArray:
    """P(all criteria by the end | ability), (versions, points).

    Ability is `mean` (criteria,) and `v` (points,) together. A group that meets all at once is done; any other has one
    second try at what it missed, where that is allowed, while what it met is kept with chance `keep`.
    """
    n, criteria = versions.difficulty.shape
    apart = 1000.0 * np.arange(criteria)
    # Most versions share a criterion's difficulty with others: each different value is worked out once.
    keys = np.round(versions.difficulty - mean, 9) + apart
    _, at, back = np.unique(keys, return_index=True, return_inverse=True)
    which = at % criteria
    found = chances(which, v - (keys.ravel()[at] - apart[which])[:, None])
    back = back.reshape(n, criteria)
    chance = np.empty((n, found[0].shape[1]))
    for start in range(0, n, _TOGETHER):
        rows = slice(start, start + _TOGETHER)
        p, miss_then_meet = (part[back[rows]] for part in found)
        counts, second, keep = (part[rows, :, None] for part in (versions.counts, versions.second, versions.keep))
        end = keep * p + np.where(second, miss_then_meet, 0.0)
        every, again = (np.where(counts, part, 1.0).prod(axis=1) for part in (p, end))
        kept = np.where(counts, keep, 1.0).prod(axis=1)
        chance[rows] = every * (1 - kept) + again
    return chance


def share_all(prior: ReadinessPrior, ready: Posterior, versions: Versions) -> NDArray[np.float64]:
    """Expected share of groups that meet all criteria by the end, (versions,)."""
    z, w = normal_nodes(21)
    own_z, own_w = normal_nodes(7)

    def chances(which: NDArray, x: NDArray) -> tuple[NDArray, NDArray]:
        spread = x[:, :, None] + ready.own_sd[which][:, None, None] * own_z
        p = expit(spread)
        return p @ own_w, ((1 - p) * expit(spread + versions.gain[0, which][:, None, None])) @ own_w

    v = np.hypot(ready.common_sd, prior.group_sd) * z
    return _all_by_end(versions, ready.mean, v, chances) @ w


_READINESS = np.arange(-7.5, 10.5 + 1e-9, 0.3)


@lru_cache(maxsize=64)
def _over_groups(group_sd: float) -> NDArray:
    """Weights of a trapezoid sum over a normal spread of groups, (readiness, readiness)."""
    weight = np.exp(-0.5 * ((_READINESS[:, None] - _READINESS) / group_sd) ** 2)
    return weight / weight.sum(axis=0)


def demand(prior: ReadinessPrior, versions: Versions) -> NDArray[np.float64]:
    """Readiness at which .80 of groups would meet all criteria by the end, (versions,) [logit].

    The same for every section: it uses the spreads of the prior. The average over groups is a trapezoid sum on an even
    grid, which for a normal weight of sd .8 at steps of .3 is exact to far more places than are shown.
    """
    first, second = _tables(prior.criterion_sd, tuple(versions.gain[0].tolist()))

    def chances(which: NDArray, x: NDArray) -> tuple[NDArray, NDArray]:
        place = (np.minimum(np.maximum(x, _LOW), _HIGH - 1e-9) - _LOW) / _STEP
        return _read(first, place), _read(second, place, (which[:, None],))

    chance = _all_by_end(versions, np.zeros(versions.difficulty.shape[1]), _READINESS, chances)
    share = chance @ _over_groups(prior.group_sd)
    above = np.minimum(np.maximum((share < DEMAND_SHARE).sum(axis=1), 1), len(_READINESS) - 1)
    rows = np.arange(len(share))
    near = np.minimum(np.maximum(share[rows, above - 1], 1e-9), 1 - 1e-9)
    far = np.minimum(np.maximum(share[rows, above], 1e-9), 1 - 1e-9)
    low, high = np.log(near / (1 - near)), np.log(far / (1 - far))
    part = (np.log(DEMAND_SHARE / (1 - DEMAND_SHARE)) - low) / (high - low)
    return _READINESS[above - 1] + part * 0.3


@dataclass(frozen=True)
class Spread:
    """A share with the 10th and 90th percentile of the true share."""

    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Expected:
    """What is expected of one version; `groups_likely` is the central 80 % of counts of groups."""

    all_criteria: Spread
    groups: float
    groups_likely: tuple[int, int]
    first: dict[int, Spread]
    end: dict[int, Spread]
    all_first: float


def expected(
    prior: ReadinessPrior,
    ready: Posterior,
    versions: Versions,
    row: int,
    groups: int,
    effect_sd: NDArray,
    share: float,
) -> Expected:
    """Shares, their ranges and counts for one version.

    `effect_sd` (criteria,) is the spread of the difficulty itself [logit]: lever effects are guesses. It widens the
    ranges; the expected `share` of all criteria stays that of `share_all`.
    """
    one = Versions(*(array[row : row + 1] for array in vars(versions).values()))
    criteria = one.difficulty.shape[1]
    points = normal_lattice(128, criteria + 1)
    own = np.hypot(ready.own_sd, effect_sd)
    ability = ready.mean + ready.common_sd * points[:, :1] + own * points[:, 1:]
    z, w = normal_nodes(15)
    x = ability[:, None, :] + prior.group_sd * z[:, None] - one.difficulty[0]
    p = expit(x)
    second = np.where(one.second[0], (1 - p) * expit(x + one.gain[0]), 0.0)
    end = one.keep[0] * p + second
    counts = one.counts[0]
    kept = np.where(counts, one.keep[0], 1.0).prod()
    every = np.where(counts, p, 1.0).prod(-1)
    truth = (every * (1 - kept) + np.where(counts, end, 1.0).prod(-1)) @ w
    listed = [c for c in range(criteria) if counts[c]]
    first_by, end_by = (np.einsum("iqc,q->ic", part[..., listed], w) for part in (p, end))
    spreads = _spreads(np.column_stack([truth, first_by, end_by]))
    every_by_end = spreads[0]
    return Expected(
        # The mean of a skewed spread may fall outside its own 80 % range by a hair.
        all_criteria=Spread(share, min(every_by_end.low, share), max(every_by_end.high, share)),
        groups=share * groups,
        groups_likely=_likely_counts(truth, groups),
        first=dict(zip(listed, spreads[1 : 1 + len(listed)], strict=True)),
        end=dict(zip(listed, spreads[1 + len(listed) :], strict=True)),
        all_first=float((every @ w).mean()),
    )


def _spreads(truth: NDArray) -> list[Spread]:
    """Mean, 10th and 90th percentile of each column."""
    low, high = np.quantile(truth, [0.1, 0.9], axis=0)
    middle = truth.mean(axis=0)
    return [
        Spread(float(m), float(a), float(b))
        for m, a, b in zip(middle, np.minimum(low, middle), np.maximum(high, middle), strict=True)
    ]


def _likely_counts(truth: NDArray, groups: int) -> tuple[int, int]:
    """10th and 90th percentile of the number of groups, over the mixture of binomials."""
    met = np.arange(groups + 1)
    ways = np.array([comb(groups, k) for k in range(groups + 1)], float)
    pmf = ways * truth[:, None] ** met * (1 - truth[:, None]) ** (groups - met)
    below = pmf.mean(axis=0).cumsum()
    return int((below < 0.1 - 1e-12).sum()), int((below < 0.9 - 1e-12).sum())
