"""Published values, reproduced to their printed digits with the quadrature, the mode and the counts of the product.

The general estimators below are only for these checks; each published value stands beside its source.
"""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from scipy import optimize, stats

from rungwright.domain.challenge import ReadinessPrior
from rungwright.domain.run import Tally
from rungwright.readiness.intervals import wilson
from rungwright.readiness.nodes import expit, normal_nodes
from rungwright.readiness.outcome import _likely_counts
from rungwright.readiness.posterior import RunEvidence, posterior

# LSAT section 6: R. D. Bock and M. Lieberman, Psychometrika 35, 1970. 1000 persons by pattern, 00000 to 11111.
LSAT_PATTERNS = np.array(list(product([0, 1], repeat=5)))
LSAT_COUNTS = np.array(
    [3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15, 10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298]
)
# Output of the R package ltm (Rasch model with discrimination 1).
LTM_DIFFICULTY = np.array([-2.87197, -1.06303, -0.25761, -1.38806, -2.21878])
LTM_SE = np.array([0.1287, 0.0821, 0.0766, 0.0865, 0.1048])


def lsat_minus_log_likelihood(b: np.ndarray, slope: float = 1.0) -> float:
    # 21 points, as ltm.
    z, w = normal_nodes(21)
    p = expit(slope * (z[:, None] - b))
    of_pattern = np.where(LSAT_PATTERNS[:, None, :] == 1, p, 1 - p).prod(-1) @ w
    return -float(LSAT_COUNTS @ np.log(of_pattern))


def test_lsat_counts_are_those_of_the_paper():
    assert LSAT_COUNTS.sum() == 1000
    assert list(LSAT_COUNTS @ LSAT_PATTERNS) == [924, 709, 553, 763, 870]


def test_lsat_rasch_with_discrimination_one():
    fit = optimize.minimize(lsat_minus_log_likelihood, np.full(5, -1.0), method="BFGS", options={"gtol": 1e-7})
    assert fit.x == pytest.approx(LTM_DIFFICULTY, abs=5e-5)
    assert -fit.fun == pytest.approx(-2473.054, abs=5e-4)
    step = 1e-3
    information = np.array(
        [
            [
                (
                    lsat_minus_log_likelihood(fit.x + i + j)
                    - lsat_minus_log_likelihood(fit.x + i - j)
                    - lsat_minus_log_likelihood(fit.x - i + j)
                    + lsat_minus_log_likelihood(fit.x - i - j)
                )
                / (4 * step**2)
                for j in np.eye(5) * step
            ]
            for i in np.eye(5) * step
        ]
    )
    assert np.sqrt(np.linalg.inv(information).diagonal()) == pytest.approx(LTM_SE, abs=1e-4)


def test_lsat_rasch_with_a_common_discrimination():
    """D. Rizopoulos, Journal of Statistical Software 17(5), 2006."""
    fit = optimize.minimize(
        lambda x: lsat_minus_log_likelihood(x[:5], x[5]),
        np.array([-3.0, -1, -0.3, -1.5, -2.5, 0.8]),
        method="BFGS",
        options={"gtol": 1e-6},
    )
    assert fit.x[:5] == pytest.approx([-3.6153, -1.3224, -0.3176, -1.7301, -2.7802], abs=2e-4)
    assert fit.x[5] == pytest.approx(0.7551, abs=1e-4)
    assert -fit.fun == pytest.approx(-2466.938, abs=5e-4)


@pytest.mark.parametrize(
    ("score", "mode", "sd"),
    [
        # Factor scores of the R package ltm, discrimination 1.
        (0, -2.0208, 0.7055),
        (1, -1.5287, 0.6996),
        (2, -1.0362, 0.7060),
        (3, -0.5257, 0.7258),
        (4, 0.0254, 0.7609),
        # Not printed there; computed here before.
        (5, 0.6420, None),
    ],
)
def test_lsat_posterior_modes_by_score(score, mode, sd):
    """The product's own readiness: one group of one person, no spread but the person's own."""
    prior = ReadinessPrior(
        section_sd=1,
        criterion_sd=1e-4,
        group_sd=1e-4,
        growth_a_grade=0,
        group_size={},
        source="test",
    )
    tallies = [(c, Tally(met=int(c < score), of=1), None) for c in range(5)]
    run = RunEvidence(1, 0, tallies, LTM_DIFFICULTY, np.ones(5), np.zeros(5, bool), np.zeros(5))
    ready = posterior(prior, 0.0, 5, [run])
    exact = optimize.brentq(lambda z: score - expit(z - LTM_DIFFICULTY).sum() - z, -5, 5)
    assert ready.mean == pytest.approx(np.full(5, exact), abs=1e-6)
    # ltm's own search stops within .0004 of the mode.
    assert exact == pytest.approx(mode, abs=4e-4)
    if sd:
        assert ready.common_sd == pytest.approx(sd, abs=1e-4)


# LLTM example of the R package eRm (data lltmdat2), vignette p. 17: rows of W by item, conditional maximum likelihood.
ERM_DESIGN = np.array([[1, 2], [2, 2], [1, 1], [3, 1], [2, 1]], float)
# Fifteen persons by score 1 to 4, and the sums of W over their successes. The raw table is not at hand: these are the
# only whole numbers up to 15 persons that give the five printed numbers, so the check is that those five agree.
ERM_SCORES = {1: 2, 2: 5, 3: 6, 4: 2}
ERM_SUMS = np.array([67.0, 54.0])


def erm_conditional(eta: np.ndarray) -> tuple[float, np.ndarray]:
    """Conditional log-likelihood of the scores and its information."""
    value, information = ERM_SUMS @ eta, np.zeros((2, 2))
    for score, persons in ERM_SCORES.items():
        design = np.array([ERM_DESIGN[list(items)].sum(0) for items in combinations(range(5), score)])
        weight = np.exp(design @ eta)
        value -= persons * np.log(weight.sum())
        information += persons * np.cov(design.T, aweights=weight, ddof=0)
    return float(value), information


def test_lltm_example_by_conditional_likelihood():
    fit = optimize.minimize(lambda eta: -erm_conditional(eta)[0], np.zeros(2), method="BFGS", options={"gtol": 1e-8})
    value, information = erm_conditional(fit.x)
    assert fit.x == pytest.approx([-0.098, 0.114], abs=5e-4)
    assert np.sqrt(np.linalg.inv(information).diagonal()) == pytest.approx([0.313, 0.478], abs=5e-4)
    assert value == pytest.approx(-31.65225, abs=5e-6)
    assert ERM_DESIGN @ fit.x == pytest.approx([0.130, 0.033, 0.016, -0.179, -0.081], abs=6e-4)


# Verbal aggression: P. De Boeck and M. Wilson, Explanatory Item Response Models, 2004; 316 persons x 24 items, r2 = Y.
# Summed from `VerbAgg` of the R package lme4: with a normal person effect these are sufficient.
VERBAL_SCORES = np.array([4, 4, 10, 7, 18, 13, 11, 17, 21, 20, 19, 15, 19, 15, 25, 23, 16, 9, 12, 10, 6, 9, 5, 3, 5])
VERBAL_SUMS = {"other": 2134, "self": 1477, "scold": 1189, "shout": 767, "do": 1593}
VERBAL_DESIGN = np.array(
    [
        (situation == "other", situation == "self", kind == "scold", kind == "shout", mode == "do")
        for situation in ("other", "other", "self", "self")
        for kind in ("curse", "scold", "shout")
        for mode in ("do", "want")
    ],
    float,
)


def verbal_minus_log_likelihood(x: np.ndarray) -> float:
    """By Laplace's approximation, as lme4 has it."""
    easiness, sd, score, theta = VERBAL_DESIGN @ x[:5], np.exp(x[5]), np.arange(25), np.zeros(25)
    for _ in range(100):
        p = expit(easiness[:, None] + theta)
        information = (p * (1 - p)).sum(0) + 1 / sd**2
        theta = theta + (score - p.sum(0) - theta / sd**2) / information
    inner = score * theta - np.logaddexp(0, easiness[:, None] + theta).sum(0) - theta**2 / (2 * sd**2)
    return -float(
        np.array(list(VERBAL_SUMS.values())) @ x[:5] + VERBAL_SCORES @ (inner - np.log(sd**2 * information) / 2)
    )


def test_lltm_of_verbal_aggression():
    """Printed in the README of the R package eirm, fitted by lme4, which stops within a unit of the third place."""
    assert VERBAL_SCORES.sum() == 316 and VERBAL_SCORES @ np.arange(25) == 2134 + 1477
    fit = optimize.minimize(verbal_minus_log_likelihood, np.zeros(6), method="BFGS")
    assert fit.x[:5] == pytest.approx([1.744, 0.716, -1.055, -2.042, -0.672], abs=1.1e-3)


@pytest.mark.parametrize(
    ("met", "of", "low", "high"),
    [
        # R. G. Newcombe, Statistics in Medicine 17, 1998, table I, method 3.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
        (29, 29, 0.8830, 1.0000),
    ],
)
def test_wilson_interval(met, of, low, high):
    assert wilson(met, of) == pytest.approx((low, high), abs=5e-5)
    by_scipy = stats.binomtest(met, of).proportion_ci(method="wilson")
    assert wilson(met, of) == pytest.approx(tuple(by_scipy), abs=1e-12)


def test_wilson_of_nothing_says_nothing():
    assert wilson(0, 0) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("met", "of", "low", "high"),
    [
        # The same cases by Clopper and Pearson (Newcombe's method 5): from memory, computed again by scipy.
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_clopper_and_pearson_bounds_leave_their_tails(met, of, low, high):
    exact = stats.binomtest(met, of).proportion_ci(method="exact")
    assert tuple(exact) == pytest.approx((low, high), abs=5e-5)
    # By definition 2.5 % of counts lie at or beyond the count at each bound; the product's counts have the same law.
    assert exact.low == 0 or stats.binom.sf(met - 1, of, exact.low) == pytest.approx(0.025, abs=1e-6)
    assert exact.high == 1 or stats.binom.cdf(met, of, exact.high) == pytest.approx(0.025, abs=1e-6)
    for bound in (exact.low, exact.high):
        middle = (stats.binom.ppf(0.1, of, bound), stats.binom.ppf(0.9, of, bound))
        assert _likely_counts(np.array([bound]), of) == middle
