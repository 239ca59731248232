"""What share of groups is expected to meet each criterion, and all of them by the end; and the demand of settings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.nodes import expit, normal_lattice, normal_nodes
from rungwright.readiness.posterior import Posterior

DEMAND_SHARE = 0.80
"""Demand is the readiness at which this share of groups would meet all criteria by the end."""

_LOW, _HIGH, _STEP = -16.0, 16.0, 0.05
_GRID = np.arange(_LOW, _HIGH + _STEP / 2, _STEP)


@dataclass(frozen=True)
class Versions:
    """Versions of a challenge, as the model sees them; every array is (versions, criteria).

    `difficulty` [logit]; `counts`, whether the criterion is part of the version; `second`, whether what was missed can
    be tried again; `keep`, chance that a criterion met at first is met at the end (1 where it is not tested again).
    """

    difficulty: NDArray[np.float64]
    counts: NDArray[np.bool_]
    second: NDArray[np.bool_]
    keep: NDArray[np.float64]


@lru_cache(maxsize=256)
def _tables(own_sd: float, gain: float) -> tuple[NDArray, NDArray]:
    """Chance to meet at once, and to miss and then meet, on the grid, averaged over the criterion's own spread.

    Returns E[p] and E[(1 - p) q] at x = ability - difficulty, p = expit(x + own), q = expit(x + own + gain).
    """
    z, w = normal_nodes(7)
    x = _GRID[:, None] + own_sd * z
    p = expit(x)
    return (p * w).sum(1), ((1 - p) * expit(x + gain) * w).sum(1)


def _read(table: NDArray, x: NDArray) -> NDArray:
    """Linear interpolation on the even grid; x is kept inside it."""
    place = (np.clip(x, _LOW, _HIGH - 1e-9) - _LOW) / _STEP
    left = place.astype(np.int64)
    return table[left] + (place - left) * (table[left + 1] - table[left])


def _all_by_end(versions: Versions, ability: NDArray, own_sd: NDArray, gain: float) -> NDArray:
    """P(all criteria by the end | ability), (versions, points).

    `ability` is (criteria, points). A group that meets all at once is done; any other has one second try at what it
    missed, where that is allowed, while what it met is kept with chance `keep`.
    """
    every = np.ones((len(versions.difficulty), ability.shape[1]))
    again = every.copy()
    for c in range(ability.shape[0]):
        counts = versions.counts[:, c]
        if not counts.any():
            continue
        first, second = _tables(round(float(own_sd[c]), 6), gain)
        # Most versions share a criterion's difficulty with others: read the tables once for each different value.
        values, back = np.unique(np.round(versions.difficulty[:, c], 9), return_inverse=True)
        x = ability[c] - values[:, None]
        p, miss_then_meet = _read(first, x)[back], _read(second, x)[back]
        end = versions.keep[:, c, None] * p + np.where(versions.second[:, c, None], miss_then_meet, 0.0)
        every *= np.where(counts[:, None], p, 1.0)
        again *= np.where(counts[:, None], end, 1.0)
    kept = np.where(versions.counts, versions.keep, 1.0).prod(axis=1)[:, None]
    return every * (1 - kept) + again


def share_all(prior: ReadinessPrior, ready: Posterior, versions: Versions) -> NDArray[np.float64]:
    """Expected share of groups that meet all criteria by the end, (versions,)."""
    z, w = normal_nodes(21)
    v = np.hypot(ready.common_sd, prior.group_sd) * z
    chance = _all_by_end(versions, ready.mean[:, None] + v, ready.own_sd, prior.second_try_gain)
    return chance @ w


_READINESS = np.arange(-7.5, 10.5 + 1e-9, 0.3)


def demand(prior: ReadinessPrior, versions: Versions) -> NDArray[np.float64]:
    """Readiness at which .80 of groups would meet all criteria by the end, (versions,) [logit].

    The same for every section: it uses the spreads of the prior. The average over groups is a trapezoid sum on an even
    grid, which for a normal weight of sd .8 at steps of .3 is exact to far more places than are shown.
    """
    own = np.full(versions.difficulty.shape[1], prior.criterion_sd)
    ability = np.broadcast_to(_READINESS, (versions.difficulty.shape[1], len(_READINESS)))
    chance = _all_by_end(versions, ability, own, prior.second_try_gain)
    weight = np.exp(-0.5 * ((_READINESS[:, None] - _READINESS) / prior.group_sd) ** 2)
    share = chance @ (weight / weight.sum(axis=0))
    above = np.clip((share < DEMAND_SHARE).sum(axis=1), 1, len(_READINESS) - 1)
    rows = np.arange(len(share))
    low, high = (np.log(s / (1 - s)) for s in np.clip([share[rows, above - 1], share[rows, above]], 1e-9, 1 - 1e-9))
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
    prior: ReadinessPrior, ready: Posterior, versions: Versions, row: int, groups: int, effect_sd: NDArray
) -> Expected:
    """Shares, their ranges and counts for one version.

    `effect_sd` (criteria,) is the spread of the difficulty itself [logit]: lever effects are guesses. It widens the
    ranges; the expected share stays that of `share_all`.
    """
    one = Versions(*(a[row : row + 1] for a in (versions.difficulty, versions.counts, versions.second, versions.keep)))
    criteria = one.difficulty.shape[1]
    points = normal_lattice(128, criteria + 1)
    own = np.hypot(ready.own_sd, effect_sd)
    ability = ready.mean + ready.common_sd * points[:, :1] + own * points[:, 1:]
    z, w = normal_nodes(15)
    x = ability[:, None, :] + prior.group_sd * z[:, None] - one.difficulty[0]
    p = expit(x)
    second = np.where(one.second[0], (1 - p) * expit(x + prior.second_try_gain), 0.0)
    end = one.keep[0] * p + second
    counts = one.counts[0]
    kept = np.where(counts, one.keep[0], 1.0).prod()
    every = np.where(counts, p, 1.0).prod(-1)
    truth = (every * (1 - kept) + np.where(counts, end, 1.0).prod(-1)) @ w
    mean = float(share_all(prior, ready, one)[0])
    listed = [c for c in range(criteria) if counts[c]]
    first_by, end_by = (np.einsum("iqc,q->ic", part[..., listed], w) for part in (p, end))
    spreads = _spreads(np.column_stack([truth, first_by, end_by]))
    every_by_end = spreads[0]
    return Expected(
        # The mean of a skewed spread may fall outside its own 80 % range by a hair.
        all_criteria=Spread(mean, min(every_by_end.low, mean), max(every_by_end.high, mean)),
        groups=mean * groups,
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
    pmf = np.ones((len(truth), 1))
    for _ in range(groups):
        grown = np.zeros((len(truth), pmf.shape[1] + 1))
        grown[:, :-1] += pmf * (1 - truth)[:, None]
        grown[:, 1:] += pmf * truth[:, None]
        pmf = grown
    below = pmf.mean(axis=0).cumsum()
    return int((below < 0.1 - 1e-12).sum()), int((below < 0.9 - 1e-12).sum())
