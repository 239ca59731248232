"""Difficulty of every criterion at many settings: starting weights of the levers and physical margins.

d_c = b_c + (weights at the settings - weights at the band's preset) + (margin terms - the preset's own)
    + the group-size term. It is zero-based so that b_c gives the stated first share at the band's own preset.
Model: Fischer's linear logistic test model (see `rules/sources.yaml`, lltm).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge, MarginTerm, ReadinessPrior
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


def margin_term(term: MarginTerm, margin: NDArray) -> NDArray[np.float64]:
    """Difficulty from a margin M > 0: height * ln(1 + (at / M) ** power); M is kept above 0.02."""
    return term.height * np.log1p((term.at / np.maximum(margin, 0.02)) ** term.power)


def lever_weights(challenge: Challenge, cols: Columns) -> NDArray[np.float64]:
    """Sum of the levers' weights, (versions, criteria) [logit]."""
    names = [c.id for c in challenge.criteria]
    total = np.zeros((cols.n, len(names)))
    for lever in cols.levers.values():
        for term in lever.difficulty:
            part = cols.look_up(lever.id, term.at)
            if not part.any():
                continue
            every = "all" in term.criteria
            for c, name in enumerate(names):
                if every or name in term.criteria:
                    total[:, c] += part
    return total


def margin_weights(challenge: Challenge, margins: Mapping[str, NDArray]) -> NDArray[np.float64]:
    """Sum of the margin terms, (versions, criteria) [logit]; `margins` has one array a check."""
    names = [c.id for c in challenge.criteria]
    total = np.zeros((len(next(iter(margins.values()))), len(names)))
    for term in challenge.margins:
        total[:, names.index(term.criterion)] += margin_term(term, margins[term.check])
    return total


def effect_spread(
    challenge: Challenge, cols: Columns, margins: Mapping[str, NDArray], *, preset: int
) -> NDArray[np.float64]:
    """Standard deviation of the difficulty, (versions, criteria) [logit], from the stated spread of every weight.

    Each weight and margin term is uncertain by its own part of what it moved from version `preset`, independently.
    """
    names = [c.id for c in challenge.criteria]
    total = np.zeros((cols.n, len(names)))
    for lever in cols.levers.values():
        for term in lever.difficulty:
            part = cols.look_up(lever.id, term.at)
            on = [c for c, name in enumerate(names) if name in term.criteria or "all" in term.criteria]
            total[:, on] += (term.spread * (part - part[preset]))[:, None] ** 2
    for term in challenge.margins:
        part = margin_term(term, margins[term.check])
        total[:, names.index(term.criterion)] += (term.spread * (part - part[preset])) ** 2
    return np.sqrt(total)


def group_size_weight(prior: ReadinessPrior, sizes: tuple[int, ...]) -> float:
    """Mean over the groups of the difficulty that their size adds to every criterion [logit]."""
    return float(np.mean([prior.group_size[str(min(size, 8))] for size in sizes]))


def bases(challenge: Challenge) -> NDArray[np.float64]:
    """b_c of every criterion [logit]."""
    spread = prior_spread(challenge.readiness)
    return np.array([base_difficulty(c.first_share, spread=spread) for c in challenge.criteria])
