"""Readiness from counts of groups."""

import numpy as np
import pytest

from rungwright.domain.run import Run, Tally
from rungwright.readiness.posterior import DRIFT_SD, RunEvidence, posterior

from .test_outcome import BASE, GAIN, PRIOR


def run(groups, tallies, *, ago=0, second=True, difficulty=BASE):
    listed = [
        (c, first and Tally(met=first[0], of=first[1]), end and Tally(met=end[0], of=end[1]))
        for c, first, end in tallies
    ]
    return RunEvidence(groups, ago, listed, difficulty, np.ones(5), np.full(5, second), GAIN)


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
    good, bad = [(c, (9, 9), None) for c in range(5)], [(c, (4, 9), None) for c in range(5)]
    better = posterior(PRIOR, 0.0, 5, [run(9, bad, ago=4), run(9, good, ago=1)])
    worse = posterior(PRIOR, 0.0, 5, [run(9, good, ago=4), run(9, bad, ago=1)])
    assert (better.mean > worse.mean).all()
    now, then = (posterior(PRIOR, 0.0, 5, [run(9, good, ago=ago)]) for ago in (1, 4))
    assert then.common_sd > now.common_sd


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


def test_readiness_grows_and_drifts_from_one_challenge_to_the_next():
    same = [(c, (6, 9), None) for c in range(5)]
    now, then = (posterior(PRIOR, 0.0, 5, [run(9, same, ago=ago)]) for ago in (0, 6))
    # Six challenges are a grade's worth of growth; the walk adds its own spread on top.
    assert then.mean - now.mean == pytest.approx(np.full(5, PRIOR.growth_a_grade))
    assert then.common_sd**2 - now.common_sd**2 == pytest.approx(6 * DRIFT_SD**2, rel=1e-6)


def test_the_walk_joins_runs_that_lie_close_together():
    """Two runs long ago have drifted together since: they say less than two of late."""
    tallies = [(c, (9, 9), None) for c in range(5)]
    old = posterior(PRIOR, 0.0, 5, [run(9, tallies, ago=9), run(9, tallies, ago=8)])
    new = posterior(PRIOR, 0.0, 5, [run(9, tallies, ago=2), run(9, tallies, ago=1)])
    assert old.common_sd > new.common_sd


def elsewhere(sd, name="footbridge", terms=7):
    """A run of another challenge: its two criteria stand beyond the five of this one."""
    listed = [(c, Tally(met=9, of=9), None) for c in (5, 6)]
    return RunEvidence(9, 1, listed, np.zeros(terms), np.ones(terms), np.ones(terms, bool), np.zeros(terms), name, sd)


def test_another_challenge_counts_for_less():
    here = posterior(PRIOR, 0.0, 5, [run(9, [(c, (9, 9), None) for c in (0, 1)], ago=1, difficulty=np.zeros(5))])
    near, far = (posterior(PRIOR, 0.0, 5, [elsewhere(sd)]) for sd in (0.3, 0.6))
    assert len(far.mean) == 5
    assert 0 < far.mean[2] < near.mean[2] < here.mean[2] < here.mean[0]
    assert far.common_sd > near.common_sd > here.common_sd


def test_more_runs_of_one_other_challenge_do_not_tell_how_far_it_stands_from_this():
    one = [elsewhere(0.6)] * 6
    several = [elsewhere(0.6, f"bridge {i}") for i in range(6)]
    assert posterior(PRIOR, 0.0, 5, one).common_sd > posterior(PRIOR, 0.0, 5, several).common_sd


def test_groups_made_up_anew_change_nothing():
    """Readiness is the section's: which of its groups met what is not carried on."""
    marks = [("yes", "no"), ("no", "no"), ("yes", "yes"), ("not_tested", "with_help")]

    def ready(order):
        grid = [{"first": {"wind": marks[i][0], "load": marks[i][1]}} for i in order]
        data = {"challenge": "shelter", "on": "2026-10-14", "groups": 4, "grid": grid}
        tallies = Run.model_validate(data).tallies()
        assert tallies["wind"][0] == Tally(met=2, of=3) and tallies["load"][0] == Tally(met=1, of=3)
        listed = [(c, (t[0].met, t[0].of), None) for c, t in ((0, tallies["wind"]), (2, tallies["load"]))]
        return posterior(PRIOR, 0.0, 5, [run(4, listed)])

    a, b = ready([0, 1, 2, 3]), ready([3, 1, 0, 2])
    assert a.mean == pytest.approx(b.mean, abs=0) and a.own_sd == pytest.approx(b.own_sd, abs=0)


def test_ranges_cover_the_truth_over_many_lessons():
    """Recovery: 150 sections whose readiness walks over four lessons; the 80 % range at the fifth covers 74-88 %."""
    rng = np.random.default_rng(12)
    inside = []
    for _ in range(150):
        theta, own, evidence = 0.6 * rng.normal(), 0.6 * rng.normal(size=5), []
        for lesson in range(4):
            ability = theta + own + 0.8 * rng.normal(size=(8, 1)) - BASE
            met = (rng.random((8, 5)) < 1 / (1 + np.exp(-ability))).sum(0)
            evidence.append(run(8, [(c, (int(met[c]), 8), None) for c in range(5)], ago=4 - lesson))
            theta += PRIOR.growth_a_grade / 6 + DRIFT_SD * rng.normal()
        p = posterior(PRIOR, 0.0, 5, evidence)
        inside += list(np.abs(theta + own - p.mean) < 1.2816 * np.hypot(p.common_sd, p.own_sd))
    assert 0.74 < np.mean(inside) < 0.88
