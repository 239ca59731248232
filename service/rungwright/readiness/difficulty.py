"""Difficulty of every criterion at many settings: starting weights of the levers and physical margins.

d_c = b_c + (weights at the settings - weights at the band's preset) + (margin terms - the preset's own)
    + the group-size term. It is zero-based so that b_c gives the stated first share at the band's own preset.
Model: Fischer's linear logistic test model (see `rules/sources.yaml`, lltm).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.domain.challenge import Challenge, MarginTerm, ReadinessPrior
from rungwright.domain.lever import Lever, Term
from rungwright.domain.strict import Setting
from rungwright.measure.columns import Columns
from rungwright.readiness.nodes import expit, normal_nodes


@cache
def base_difficulty(first_share: float, *, spread: float) -> float:
    """The difficulty at which an average section meets a criterion at the first test with this share.

    Parameters: `first_share` 0..1 exclusive; `spread`, the standard deviation over sections, criteria and groups
    together [logit]. Solves E[expit(spread * z - b)] = first_share by bisection.
    """
    z, w = normal_nodes(21)
    low, high = -12.0, 12.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if (expit(spread * z - middle) * w).sum() > first_share else (low, middle)
    return (low + high) / 2


def prior_spread(prior: ReadinessPrior) -> float:
    return float(np.sqrt(prior.section_sd**2 + prior.criterion_sd**2 + prior.group_sd**2))


def margin_term(term: MarginTerm, margin: ArrayLike) -> NDArray[np.float64]:
    """Difficulty from a margin M > 0: height * ln(1 + (at / M) ** power); M is kept above 0.02."""
    return term.height * np.log1p((term.at / np.maximum(margin, 0.02)) ** term.power)


def lever_weights(challenge: Challenge, cols: Columns) -> NDArray[np.float64]:
    """Sum of the levers' weights, (versions, criteria) [logit]."""
    names = tuple(c.id for c in challenge.criteria)
    weighted = (lever for lever in cols.levers.values() if lever.difficulty)
    return cols.total(weighted, lambda lever, setting: _weight(lever, setting, names), len(names))


@lru_cache(maxsize=65_536)
def _weight(lever: Lever, setting: Setting, names: tuple[str, ...]) -> NDArray[np.float64]:
    """What one lever adds at one setting to the difficulty of the criteria `names`."""
    total = np.zeros(len(names))
    for term in lever.difficulty:
        total += lever.between(term.at, setting) * _on(term, names)
    return total


def _on(term: Term, names: tuple[str, ...]) -> NDArray[np.float64]:
    return np.array([float("all" in term.criteria or name in term.criteria) for name in names])


def margin_weights(challenge: Challenge, margins: Mapping[str, NDArray]) -> NDArray[np.float64]:
    """Sum of the margin terms, (versions, criteria) [logit]; `margins` has one array a check."""
    names = [c.id for c in challenge.criteria]
    total = np.zeros((len(next(iter(margins.values()))), len(names)))
    for term in challenge.margins:
        total[:, names.index(term.criterion)] += margin_term(term, margins[term.check])
    return total


def effect_spread(
    challenge: Challenge,
    levers: Mapping[str, Lever],
    preset: tuple[Mapping[str, Setting], Mapping[str, float]],
    here: tuple[Mapping[str, Setting], Mapping[str, float]],
) -> NDArray[np.float64]:
    """Standard deviation of the difficulty, (criteria,) [logit], from the stated spread of every weight.

    Parameters: `preset` and `here`, settings with a value for every lever, and the margin by check.
    Each weight and margin term is uncertain by its own part of what it moved from the preset, independently.
    """
    names = tuple(c.id for c in challenge.criteria)
    total = np.zeros(len(names))
    (settings, margins), (settings_here, margins_here) = preset, here
    for name, lever in levers.items():
        if settings_here[name] != settings[name]:
            for term in lever.difficulty:
                moved = lever.between(term.at, settings_here[name]) - lever.between(term.at, settings[name])
                total += (term.spread * moved) ** 2 * _on(term, names)
    for term in challenge.margins:
        moved = margin_term(term, margins_here[term.check]) - margin_term(term, margins[term.check])
        total[names.index(term.criterion)] += (term.spread * moved) ** 2
    return np.sqrt(total)


def group_size_weight(prior: ReadinessPrior, sizes: tuple[int, ...]) -> float:
    """Mean over the groups of the difficulty that their size adds to every criterion [logit]."""
    return float(np.mean([prior.group_size[str(min(size, 8))] for size in sizes]))


def bases(challenge: Challenge) -> NDArray[np.float64]:
    """b_c of every criterion [logit]."""
    spread = prior_spread(challenge.readiness)
    return np.array([base_difficulty(c.first_share, spread=spread) for c in challenge.criteria])
