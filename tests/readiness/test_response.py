"""What a count says, against simulation, and the readiness it gives, against an independent fit by scipy."""

import numpy as np
import pytest
from scipy import integrate, optimize, stats
from scipy.special import expit as scipy_expit

from rungwright.readiness.posterior import CHALLENGES_A_GRADE, posterior
from rungwright.readiness.response import END, FIRST, SECOND, Counts

from .test_outcome import BASE, GAIN, PRIOR
from .test_posterior import run

X = np.array([-1.3, 0.2, 1.9])
AGAIN = np.array([0.6, 0.0, 1.0])


def counts(kind, keep=0.9, within=0.8):
    return Counts(np.ones(3), np.full(3, 2.0), np.full(3, kind), np.full(3, keep), AGAIN, np.full(3, within))


@pytest.mark.parametrize("kind", [FIRST, SECOND, END])
def test_chance_is_that_of_the_story_played(kind):
    rng = np.random.default_rng(3)
    ability = X + 0.8 * rng.normal(size=(400_000, 1))
    first = rng.random(ability.shape) < scipy_expit(ability)
    again = rng.random(ability.shape) < scipy_expit(ability + AGAIN)
    if kind == FIRST:
        played = first.mean(0)
    elif kind == SECOND:
        # Only those that missed try again, and they are the weaker ones.
        played = (again & ~first).sum(0) / (~first).sum(0)
    else:
        played = np.where(first, rng.random(ability.shape) < 0.9, again).mean(0)
    assert counts(kind).chance(X)[0] == pytest.approx(played, abs=0.004)


@pytest.mark.parametrize("kind", [FIRST, SECOND, END])
def test_slope_is_the_change_of_the_chance(kind):
    step = 1e-5
    up, down = (counts(kind).chance(X + s)[0] for s in (step, -step))
    assert counts(kind).chance(X)[1] == pytest.approx((up - down) / (2 * step), rel=1e-6)


@pytest.mark.parametrize("kind", [FIRST, SECOND, END])
def test_score_is_the_slope_of_the_log_likelihood(kind):
    step = 1e-5
    up, down = (counts(kind).log_likelihood(X + s) for s in (step, -step))
    assert counts(kind).score(X)[0] == pytest.approx((up - down) / (2 * step), rel=1e-5)


def test_readiness_is_the_mode_that_scipy_finds():
    """One criterion tested first and again, another at the end only: written out here with scipy's own integral."""
    evidence = run(7, [(0, (4, 7), (6, 7)), (2, None, (5, 7))], ago=1)
    within = PRIOR.group_sd * np.sqrt(6 / 7)
    growth = PRIOR.growth_a_grade / CHALLENGES_A_GRADE

    def mean(f):
        return integrate.quad(lambda z: f(within * z) * stats.norm.pdf(z), -8, 8)[0]

    def minus_log_posterior(x):
        theta, own, deviation = x[0], x[1:6], x[6]
        prior = (theta / 0.6) ** 2 + (own**2).sum() / 0.6**2 + deviation**2 / (0.64 / 7)
        at = theta + own + deviation - BASE
        first = mean(lambda u: scipy_expit(at[0] + u))
        second = mean(lambda u: (1 - scipy_expit(at[0] + u)) * scipy_expit(at[0] + u + GAIN[0])) / (1 - first)
        end = mean(lambda u: 1 - (1 - scipy_expit(at[2] + u)) * (1 - scipy_expit(at[2] + u + GAIN[2])))
        log = 4 * np.log(first) + 3 * np.log(1 - first) + 2 * np.log(second) + np.log(1 - second)
        return prior / 2 - log - 5 * np.log(end) - 2 * np.log(1 - end)

    found = optimize.minimize(minus_log_posterior, np.zeros(7), method="BFGS", options={"gtol": 1e-6})
    ready = posterior(PRIOR, 0.0, 5, [evidence])
    # The product averages over the groups with nine points.
    assert ready.mean == pytest.approx(found.x[0] + found.x[1:6] + growth, abs=2e-3)
