"""The weights that are learned: an independent fit by scipy, recovery with coverage, and what must not fool them."""

import numpy as np
import pytest
from scipy import optimize, stats
from scipy.special import expit

from rungwright.readiness.learning import GROWTH_SD, INTERCEPT_SD, learn
from rungwright.readiness.posterior import CHALLENGES_A_GRADE, DRIFT_SD
from rungwright.readiness.response import FIRST

from .school import ON, SPREAD, STEP, sections
from .test_outcome import PRIOR


def test_without_sections_the_starting_guesses_stay():
    learnt = learn([], PRIOR, ON, SPREAD)
    assert (learnt.factor == 1).all() and (learnt.sd == SPREAD).all()


def test_it_is_the_mode_that_scipy_finds():
    """Three sections, every unknown at once, the likelihood written out with scipy and its own quadrature."""
    made = sections(np.random.default_rng(8), np.full(6, 1.4), 3, easier_for_weaker=False)
    z, w = np.polynomial.hermite_e.hermegauss(25)
    w = w / w.sum()
    growth = PRIOR.growth_a_grade / CHALLENGES_A_GRADE

    def minus_log_posterior(x):
        factor, grown, total = x[:6], x[6], 0.0
        total += (((factor - 1) / SPREAD) ** 2).sum() / 2 + ((grown - growth) / GROWTH_SD) ** 2 / 2
        for s, local in zip(made, x[7:].reshape(3, 7), strict=True):
            intercept, deviation = local[:5], local[5:]
            total += (((intercept - s.centre) / INTERCEPT_SD) ** 2).sum() / 2
            covariance = np.diag([0.64 / 8, 0.64 / 8 + DRIFT_SD**2])
            total -= stats.multivariate_normal.logpdf(deviation, np.zeros(2), covariance)
            harder = (s.parts[s.run] * factor * ON[:, s.criterion].T).sum(1)
            at = intercept[s.criterion] + deviation[s.run] + grown * s.run - harder
            eta = at[:, None] + 0.8 * np.sqrt(7 / 8) * z
            first = expit(eta) @ w
            second = ((1 - expit(eta)) * expit(eta + s.gain[:, None])) @ w / (1 - first)
            chance = np.where(s.kind == FIRST, first, second)
            total -= (s.met * np.log(chance) + (s.of - s.met) * np.log(1 - chance)).sum()
        return total

    begin = np.concatenate([np.ones(6), [growth], *(np.append(s.centre, [0, 0]) for s in made)])
    found = optimize.minimize(minus_log_posterior, begin, method="BFGS", options={"gtol": 1e-4, "maxiter": 2000})
    learnt = learn(made, PRIOR, ON, SPREAD)
    assert learnt.factor == pytest.approx(found.x[:6], abs=5e-3)
    assert learnt.growth == pytest.approx(found.x[6], abs=5e-3)


def test_ranges_of_the_weights_cover_the_truth_about_as_often_as_they_say():
    """Recovery: 25 schools of 30 sections; the 80 % range of each factor holds the truth in 72-90 %."""
    rng, inside = np.random.default_rng(6), []
    for _ in range(25):
        truth = 1 + SPREAD * rng.normal(size=6)
        learnt = learn(sections(rng, truth, 30, easier_for_weaker=False), PRIOR, ON, SPREAD)
        inside += list(np.abs(learnt.factor - truth) < 1.2816 * learnt.sd)
    assert 0.72 < np.mean(inside) < 0.90


def test_learning_is_nearer_the_truth_than_the_starting_guess():
    rng, before, after = np.random.default_rng(9), [], []
    for _ in range(12):
        truth = 1 + SPREAD * rng.normal(size=6)
        learnt = learn(sections(rng, truth, 40, runs=3, easier_for_weaker=False), PRIOR, ON, SPREAD)
        before.append((STEP * (1 - truth)) ** 2)
        after.append((STEP * (learnt.factor - truth)) ** 2)
    assert np.mean(after) < 0.7 * np.mean(before)


def test_an_easier_version_for_weaker_sections_does_not_make_levers_look_weak():
    """300 sections, hardly any prior: what is left of the truth is the estimator's own bias."""
    truth = np.full(6, 1.5)
    made = sections(np.random.default_rng(2), truth, 300, runs=3, easier_for_weaker=True)
    learnt = learn(made, PRIOR, ON, np.full(6, 5.0))
    assert np.abs(learnt.factor - truth).mean() < 0.25
    # Across sections the same data say that harder settings do little: weak sections had the easier ones.
    share = [sum(s.met[s.kind == FIRST]) / sum(s.of[s.kind == FIRST]) for s in made]
    assert np.corrcoef([s.parts.sum() for s in made], share)[0, 1] > -0.1
