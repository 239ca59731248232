"""Readiness from counts of groups."""

import numpy as np
import pytest

from rungwright.domain.run import Tally
from rungwright.readiness.posterior import RunEvidence, posterior

from .test_outcome import BASE, PRIOR


def run(groups, tallies, *, ago=0, second=True, difficulty=BASE):
    listed = [
        (c, first and Tally(met=first[0], of=first[1]), end and Tally(met=end[0], of=end[1]))
        for c, first, end in tallies
    ]
    return RunEvidence(groups, ago, listed, difficulty, np.ones(5), np.full(5, second))


def test_without_a_run_it_is_the_prior():
    p = posterior(PRIOR, 0.0, 5, [])
    assert p.mean == pytest.approx(np.zeros(5))
    assert p.common_sd == pytest.approx(0.6) and p.own_sd == pytest.approx(np.full(5, 0.6))


def test_a_criterion_that_all_met_rises_most_and_the_others_follow():
    p = posterior(PRIOR, 0.0, 5, [run(9, [(2, (9, 9), None)])])
    assert p.mean[2] > p.mean[0] > 0.05
    assert p.mean[0] == pytest.approx(p.mean[4])


@pytest.mark.parametrize("met", [0, 3])
def test_none_and_all_of_three_stay_finite_and_modest(met):
    p = posterior(PRIOR, 0.0, 5, [run(3, [(c, (met, 3), None) for c in range(3)])])
    assert np.isfinite(p.mean).all()
    # Three of three must not read as mastery.
    assert np.abs(p.mean).max() < (1.3 if met == 3 else 2.2)


def test_fewer_groups_leave_a_wider_range():
    def spread(groups):
        p = posterior(PRIOR, 0.0, 5, [run(groups, [(c, (groups // 2, groups), None) for c in range(5)])])
        return np.hypot(p.common_sd, p.own_sd)

    assert (spread(2) > spread(6)).all() and (spread(6) > spread(20)).all()


def test_an_older_run_counts_for_less():
    new = posterior(PRIOR, 0.0, 5, [run(9, [(2, (9, 9), None)])])
    old = posterior(PRIOR, 0.0, 5, [run(9, [(2, (9, 9), None)], ago=3)])
    assert 0 < old.mean[0] < new.mean[0]


def test_a_run_at_an_easier_version_says_less():
    hard = posterior(PRIOR, 0.0, 5, [run(9, [(2, (8, 9), None)])])
    easy = posterior(PRIOR, 0.0, 5, [run(9, [(2, (8, 9), None)], difficulty=BASE - 1.5)])
    assert easy.mean[2] < hard.mean[2]


def test_a_result_by_the_end_says_less_than_the_same_at_the_first_test():
    first = posterior(PRIOR, 0.0, 5, [run(9, [(2, (8, 9), None)])])
    end = posterior(PRIOR, 0.0, 5, [run(9, [(2, None, (8, 9))])])
    assert end.mean[2] < first.mean[2]


def test_the_order_of_criteria_changes_nothing():
    tallies = [(0, (5, 9), (7, 9)), (2, (4, 9), None), (3, None, (9, 9))]
    a, b = (posterior(PRIOR, 0.0, 5, [run(9, t)]) for t in (tallies, tallies[::-1]))
    assert a.mean == pytest.approx(b.mean, abs=1e-8)


def test_ranges_cover_the_truth_about_as_often_as_they_say():
    """Recovery: 300 invented sections, one run each; the 80 % range of each ability holds the truth in 74-88 %."""
    rng = np.random.default_rng(11)
    inside = []
    for _ in range(300):
        ability = 0.6 * rng.normal() + 0.6 * rng.normal(size=5)
        group = 0.8 * rng.normal(size=(8, 1))
        met = (rng.random((8, 5)) < 1 / (1 + np.exp(-(ability + group - BASE)))).sum(0)
        p = posterior(PRIOR, 0.0, 5, [run(8, [(c, (int(met[c]), 8), None) for c in range(5)])])
        sd = np.hypot(p.common_sd, p.own_sd)
        inside += list(np.abs(ability - p.mean) < 1.2816 * sd)
    assert 0.74 < np.mean(inside) < 0.88
