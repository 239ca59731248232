"""Difficulty of every criterion at many settings: weights of the levers and of the physical margins.

d_c = b_c + (weights at the settings - weights at the band's preset) + the group-size term. It is zero-based so that b_c
gives the stated first share at the band's own preset. Each weight is one column of parts; a factor, 1 for the starting
guess, says how much of it counts. Model: Fischer's linear logistic test model (see `rules/sources.yaml`, lltm).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge, MarginTerm, ReadinessPrior
from rungwright.domain.lever import Lever
from rungwright.domain.weights import LearntWeight, Weights, weight_key
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


@dataclass(frozen=True)
class Weight:
    """One weight of a lever or a margin, as the rule base has it, with what was learnt of it."""

    lever: str | None
    term: MarginTerm | None
    criteria: tuple[str, ...]
    starting: tuple[float, ...]
    spread: float
    """standard deviation of the factor before any run"""
    monotone: bool
    source: str
    learnt: LearntWeight | None

    @property
    def key(self) -> tuple[str, ...]:
        return weight_key(self.lever, self.term and self.term.check, self.criteria)


@dataclass(frozen=True)
class Difficulty:
    """All weights of one challenge. `on` (weights, criteria) tells what each touches; `factor`, `sd` are (weights,)."""

    weights: tuple[Weight, ...]
    on: NDArray[np.float64]
    factor: NDArray[np.float64]
    sd: NDArray[np.float64]
    base: NDArray[np.float64]
    """b_c of every criterion, (criteria,) [logit]"""

    def parts(self, cols: Columns, margins: Mapping[str, NDArray]) -> NDArray[np.float64]:
        """What each weight adds at its starting guess, (versions, weights) [logit]; `margins`, one array a check."""
        found = np.empty((cols.n, len(self.weights)))
        for i, weight in enumerate(self.weights):
            if weight.term:
                found[:, i] = margin_term(weight.term, margins[weight.term.check])
            else:
                found[:, i] = cols.each(weight.lever, partial(cols.levers[weight.lever].between, weight.starting))
        return found

    def moved(self, parts: NDArray) -> NDArray[np.float64]:
        """Difficulty beyond the base, (versions, criteria) [logit], from parts less those of the preset."""
        return parts @ (self.factor[:, None] * self.on)

    def spread(self, parts: NDArray) -> NDArray[np.float64]:
        """Standard deviation of the difficulty, (versions, criteria) [logit], from parts less those of the preset.

        Each weight is uncertain by its own part of what it moved, independently.
        """
        return np.sqrt((parts * self.sd) ** 2 @ self.on)


def difficulty_of(challenge: Challenge, levers: Mapping[str, Lever], learnt: Weights | None = None) -> Difficulty:
    """The weights of a challenge; `learnt` ones lie over the starting guesses that they were learned from."""
    known = learnt.by_key if learnt and learnt.challenge == challenge.id else {}
    names = [c.id for c in challenge.criteria]
    found = []
    for lever in levers.values():
        for term in lever.difficulty:
            found.append(
                (lever.id, None, tuple(term.criteria), tuple(term.at), term.spread, lever.monotone, term.source)
            )
    for margin in challenge.margins:
        found.append((None, margin, (margin.criterion,), (margin.height,), margin.spread, True, margin.source))
    weights = []
    for lever_id, margin, criteria, starting, spread, monotone, source in found:
        entry = known.get(weight_key(lever_id, margin and margin.check, criteria))
        if entry and entry.starting != list(starting):
            entry = None
        weights.append(Weight(lever_id, margin, criteria, starting, spread, monotone, source, entry))
    on = np.array([[float(name in w.criteria or "all" in w.criteria) for name in names] for w in weights])
    spread = prior_spread(challenge.readiness)
    return Difficulty(
        tuple(weights),
        on.reshape(len(weights), len(names)),
        np.array([w.learnt.factor if w.learnt else 1.0 for w in weights]),
        np.array([w.learnt.sd if w.learnt else w.spread for w in weights]),
        np.array([base_difficulty(c.first_share, spread=spread) for c in challenge.criteria]),
    )


def group_size_weight(prior: ReadinessPrior, sizes: tuple[int, ...]) -> float:
    """Mean over the groups of the difficulty that their size adds to every criterion [logit]."""
    return float(np.mean([prior.group_size[str(min(size, 8))] for size in sizes]))
