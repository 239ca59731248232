"""How far the sections and groups of a school stand apart, learned from all their results (empirical Bayes).

One factor multiplies the spreads of the prior. Each section's results have a chance under it; the factor is what
foretold them best, held to 1 as long as they say little.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.posterior import RunEvidence, log_evidence

APART_SD = 0.4
"""Spread of the logarithm of the factor before any run; starting guess: half as much or twice as much is rare."""

_TRIED = np.linspace(-1.0, 1.0, 5)
"""Logarithms of the factors tried; between them the evidence is a polynomial through all five."""


@dataclass(frozen=True)
class Results:
    """What one section did: `grade_shift`, grades above the middle of its band; `runs`, oldest first."""

    grade_shift: float
    criteria: int
    runs: Sequence[RunEvidence]


@dataclass(frozen=True)
class Apart:
    """`factor` of the assumed spreads, between exp(-1) and exp(1); `sd`, standard deviation of its logarithm."""

    factor: float
    sd: float


def learn_apart(sections: Sequence[Results], prior: ReadinessPrior, tick: Callable[[], None] = lambda: None) -> Apart:
    """The factor after the results of `sections`; 1 without any. `tick` is called after each section."""
    if not sections:
        return Apart(1.0, APART_SD)
    evidence = np.zeros(len(_TRIED))
    priors = [prior.apart(float(np.exp(log))) for log in _TRIED]
    for section in sections:
        evidence += [log_evidence(one, section.grade_shift, section.criteria, section.runs) for one in priors]
        tick()
    fine = np.linspace(_TRIED[0], _TRIED[-1], 401)
    chance = np.polyval(np.polyfit(_TRIED, evidence, len(_TRIED) - 1), fine) - (fine / APART_SD) ** 2 / 2
    weight = np.exp(chance - chance.max())
    weight /= weight.sum()
    middle = float(weight @ fine)
    return Apart(float(np.exp(middle)), float(np.sqrt(weight @ (fine - middle) ** 2)))
