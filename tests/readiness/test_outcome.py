"""Expected shares and demand, against simulation and closed forms."""

from dataclasses import replace
from itertools import product
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import expit as scipy_expit
from scipy.stats import norm

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.difficulty import base_difficulty, prior_spread
from rungwright.readiness.nodes import expit, normal_lattice, normal_nodes
from rungwright.readiness.outcome import DEMAND_SHARE, Versions, demand, expected, share_all
from rungwright.readiness.posterior import Posterior, posterior

PRIOR = ReadinessPrior(
    section_sd=0.6,
    criterion_sd=0.6,
    group_sd=0.8,
    growth_a_grade=0.25,
    group_size={},
    source="starting_guess",
)
GAIN = np.array([0.6, 0.0, 0.3, 1.0, 0.8])
FIRST = [0.83, 0.75, 0.72, 0.93, 0.92]
BASE = np.array([base_difficulty(share, spread=prior_spread(PRIOR)) for share in FIRST])


def versions(difficulty, *, second=True, keep=1.0, counts=True) -> Versions:
    d = np.atleast_2d(np.asarray(difficulty, float))
    gain = np.tile(GAIN[: d.shape[1]], (len(d), 1))
    return Versions(d, np.full(d.shape, counts), np.full(d.shape, second), np.full(d.shape, keep), gain)


def ready(mean=0.0, common=0.6, own=0.6, criteria=5) -> Posterior:
    return Posterior(np.full(criteria, mean), common, np.full(criteria, own))


@pytest.mark.parametrize("mean", [-1.0, 0.5, 2.0])
def test_the_middle_share_is_that_of_the_class_as_likely_passed_as_missed(mean):
    """One criterion and one try: a class's share grows with its ability, so half of all classes lie above it."""
    one = versions([[0.0]], second=False)
    at = ready(mean, criteria=1)
    middle = share_all(PRIOR, at.middle, one)[0]
    ability = np.random.default_rng(1).normal(mean, np.hypot(at.common_sd, at.own_sd[0]), 4000)
    shares = np.array([share_all(PRIOR, ready(a, 0.0, 0.0, 1), one)[0] for a in ability])
    assert (shares > middle).mean() == pytest.approx(0.5, abs=0.03)
    # What is not known pulls the mean toward a half.
    assert abs(share_all(PRIOR, at, one)[0] - 0.5) < abs(middle - 0.5)


def test_where_all_is_known_the_middle_share_is_the_expected_one():
    sure, some = ready(0.4, 0.0, 0.0), versions(BASE)
    assert share_all(PRIOR, sure.middle, some) == pytest.approx(share_all(PRIOR, sure, some), abs=1e-12)


def test_nodes_average_a_standard_normal():
    z, w = normal_nodes(21)
    assert w.sum() == pytest.approx(1)
    assert (w * z**2).sum() == pytest.approx(1)
    assert (w * z**4).sum() == pytest.approx(3)
    points = normal_lattice(128, 6)
    assert np.abs(points.mean(0)).max() < 1e-12
    assert points.std(0) == pytest.approx(np.ones(6), abs=0.06)


def test_expit_is_scipys():
    x = np.linspace(-40, 40, 401)
    assert expit(x) == pytest.approx(scipy_expit(x), abs=1e-14)


@pytest.mark.parametrize("share", FIRST)
def test_base_difficulty_gives_its_first_share(share):
    # Independent of the quadrature: scipy's normal density on a fine grid.
    z = np.linspace(-9, 9, 20_001)
    b = base_difficulty(share, spread=prior_spread(PRIOR))
    got = np.trapezoid(scipy_expit(prior_spread(PRIOR) * z - b) * norm.pdf(z), z)
    assert got == pytest.approx(share, abs=2e-4)


def simulated(second, keep, groups=400_000, seed=5):
    """The stated story, played: theta, one term a criterion, a group effect, a first try, one second try."""
    rng = np.random.default_rng(seed)
    ability = (
        0.6 * rng.normal(size=(groups, 1)) + 0.8 * rng.normal(size=(groups, 1)) + 0.6 * rng.normal(size=(groups, 5))
    )
    first = rng.random((groups, 5)) < scipy_expit(ability - BASE)
    again = rng.random((groups, 5)) < scipy_expit(ability - BASE + GAIN)
    kept = rng.random((groups, 5)) < keep
    end = np.where(first, kept | ~np.asarray(second), again & second)
    return (first.all(1) | end.all(1)).mean()


@pytest.mark.parametrize("keep", [1.0, 0.98, 0.8])
@pytest.mark.parametrize("dry_again", [True, False])
def test_share_of_all_criteria_is_that_of_the_story_played(keep, dry_again):
    second = np.array([True, dry_again, True, True, True])
    v = Versions(BASE[None], np.ones((1, 5), bool), second[None], np.where(second, keep, 1.0)[None], GAIN[None])
    assert share_all(PRIOR, ready(), v)[0] == pytest.approx(simulated(second, keep), abs=0.004)


def test_demand_is_the_readiness_at_which_four_in_five_succeed():
    v = versions(np.stack([BASE, BASE + 0.5, BASE - 1]))
    for i, theta in enumerate(demand(PRIOR, v)):
        one = versions(v.difficulty[i])
        # The same average by another route: no spread of readiness, only of groups and criteria.
        assert share_all(PRIOR, ready(mean=theta, common=1e-9), one)[0] == pytest.approx(DEMAND_SHARE, abs=5e-4)


def test_raising_every_difficulty_raises_demand_as_much():
    shift = demand(PRIOR, versions(BASE + 0.37)) - demand(PRIOR, versions(BASE))
    assert shift == pytest.approx(0.37, abs=0.005)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-3, 3), min_size=5, max_size=5), st.integers(0, 4), st.floats(0.01, 2), st.booleans())
def test_a_harder_criterion_never_raises_the_share(difficulty, which, more, second):
    harder = np.array(difficulty)
    harder[which] += more
    v = versions(np.stack([difficulty, harder]), second=second)
    easy, hard = share_all(PRIOR, ready(), v)
    assert hard <= easy + 1e-9
    d = demand(PRIOR, v)
    assert d[1] >= d[0] - 1e-9


def expectation(v, groups, effect_sd, prior=PRIOR, section=None):
    section = section or ready()
    return expected(prior, section, v, 0, groups, effect_sd, float(share_all(prior, section, v)[0]))


@pytest.mark.parametrize("groups", [1, 2, 9, 20])
def test_likely_counts_hold_the_middle_of_the_counts(groups):
    v = versions(BASE)
    e = expectation(v, groups, np.zeros(5))
    low, high = e.groups_likely
    assert 0 <= low <= high <= groups
    assert low <= e.groups + 1 and high >= e.groups - 1
    assert e.all_criteria.low <= e.all_criteria.share <= e.all_criteria.high


def test_likely_counts_of_a_sure_share_are_the_binomials():
    # No spread at all but chance: the counts are binomial.
    d = np.full((1, 1), -np.log(0.8 / 0.2))
    prior = PRIOR.model_copy(update={"group_sd": 1e-6})
    v = versions(d, second=False)
    e = expectation(v, 6, np.zeros(1), prior, Posterior(np.zeros(1), 0.0, np.array([1e-6])))
    pmf = [comb(6, k) * 0.8**k * 0.2 ** (6 - k) for k in range(7)]
    below = np.cumsum(pmf)
    assert e.groups_likely == (int((below < 0.1).sum()), int((below < 0.9).sum())) == (4, 6)


def test_effect_spread_widens_the_range():
    v = versions(BASE)
    narrow = expectation(v, 9, np.zeros(5)).all_criteria
    wide = expectation(v, 9, np.full(5, 0.8)).all_criteria
    assert wide.high - wide.low > narrow.high - narrow.low


def test_every_pattern_of_a_group_adds_up():
    """The product form of the end share equals the sum over all patterns of first tries."""
    v, keep = np.array([0.3]), 0.9
    d = BASE[:3]
    p, q = expit(v - d), expit(v - d + GAIN[:3])
    total = 0.0
    for pattern in product([0, 1], repeat=3):
        chance = np.prod([p[i] if hit else 1 - p[i] for i, hit in enumerate(pattern)])
        again = np.prod([keep if hit else q[i] for i, hit in enumerate(pattern)])
        total += chance * (1.0 if all(pattern) else again)
    prior = PRIOR.model_copy(update={"group_sd": 1e-9})
    one = Posterior(np.full(3, 0.3), 0.0, np.full(3, 1e-9))
    assert share_all(prior, one, versions(d, keep=keep))[0] == pytest.approx(total, abs=1e-4)


def test_prior_follows_the_grade():
    low, high = (posterior(PRIOR, shift, 5, []).mean for shift in (-1, 1))
    assert high - low == pytest.approx(np.full(5, 0.5))


def test_a_second_try_gains_by_criterion():
    """Where a rebuild mends more of one criterion, that one alone is met more often by the end."""
    usual = versions(BASE)
    mended = replace(usual, gain=usual.gain + np.array([0, 1.0, 0, 0, 0]))
    before, after = (expectation(v, 9, np.zeros(5)) for v in (usual, mended))
    assert after.end[1].share > before.end[1].share + 0.02
    assert [after.end[c].share for c in (0, 2, 3, 4)] == [before.end[c].share for c in (0, 2, 3, 4)]
    assert [s.share for s in after.first.values()] == [s.share for s in before.first.values()]
    assert share_all(PRIOR, ready(), mended)[0] > share_all(PRIOR, ready(), usual)[0]
    assert demand(PRIOR, mended)[0] < demand(PRIOR, usual)[0]
