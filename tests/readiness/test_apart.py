"""How far sections and groups stand apart: the evidence against exact and published values, and recovery of a truth."""

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import expit

from rungwright.domain.challenge import ReadinessPrior
from rungwright.domain.run import Tally
from rungwright.readiness.apart import APART_SD, Results, learn_apart
from rungwright.readiness.posterior import DRIFT_SD, RunEvidence, log_evidence

from .test_outcome import BASE, GAIN, PRIOR
from .test_published import LSAT_COUNTS, LSAT_PATTERNS, LTM_DIFFICULTY

NEVER = np.zeros(5, bool)


def lsat_evidence(section_sd: float, difficulty: np.ndarray) -> float:
    """Every person a section of one group, no spread but the person's own."""
    prior = ReadinessPrior(
        section_sd=section_sd, criterion_sd=1e-4, group_sd=1e-4, growth_a_grade=0, group_size={}, source="test"
    )
    total = 0.0
    for pattern, count in zip(LSAT_PATTERNS, LSAT_COUNTS, strict=True):
        tallies = [(c, Tally(met=int(right), of=1), None) for c, right in enumerate(pattern)]
        run = RunEvidence(1, 0, tallies, difficulty, np.ones(5), NEVER, np.zeros(5))
        total += count * log_evidence(prior, 0.0, 5, [run])
    return total


def test_lsat_log_likelihood_is_nearly_the_published_one():
    """The R package ltm prints -2473.054 for a spread of 1; Laplace's approximation is off by .01 a person at most."""
    assert lsat_evidence(1.0, LTM_DIFFICULTY) == pytest.approx(-2473.054, abs=0.01 * 1000)


def test_lsat_spread_is_nearly_the_published_one():
    """D. Rizopoulos, Journal of Statistical Software 17(5), 2006: 0.7551, difficulties times that.

    Laplace's approximation is known to make spreads of yes-or-no answers too small, here by a twentieth.
    """
    difficulty = 0.7551 * np.array([-3.6153, -1.3224, -0.3176, -1.7301, -2.7802])
    tried = np.arange(0.5, 1.0, 0.025)
    best = tried[np.argmax([lsat_evidence(sd, difficulty) for sd in tried])]
    assert best == pytest.approx(0.7551, abs=0.06)


def test_the_evidence_of_one_count_is_its_integral():
    """Eight groups, one criterion, first test alone: readiness and the groups' mean integrated by scipy."""
    run = RunEvidence(8, 0, [(0, Tally(met=5, of=8), None)], BASE[:1], np.ones(1), np.zeros(1, bool), np.zeros(1))
    sd = np.sqrt(PRIOR.section_sd**2 + PRIOR.criterion_sd**2 + PRIOR.group_sd**2 / 8)
    z, w = np.polynomial.hermite_e.hermegauss(25)

    def chance(x: float) -> float:
        p = expit(x - BASE[0] + PRIOR.group_sd * np.sqrt(7 / 8) * z) @ w / w.sum()
        return p**5 * (1 - p) ** 3 * stats.norm.pdf(x, 0, sd)

    exact = np.log(integrate.quad(chance, -6, 6)[0])
    assert log_evidence(PRIOR, 0.0, 1, [run]) == pytest.approx(exact, abs=0.02)


def test_no_result_is_no_evidence():
    assert log_evidence(PRIOR, 0.0, 5, []) == 0.0
    assert learn_apart([], PRIOR).factor == 1.0 and learn_apart([], PRIOR).sd == APART_SD


def invented(rng: np.random.Generator, factor: float, sections: int, *, runs: int = 3) -> list[Results]:
    """A school whose spreads are `factor` times the prior's, drawn without the product's code but BASE and GAIN."""
    groups = 8
    made = []
    for _ in range(sections):
        ability = factor * (PRIOR.section_sd * rng.normal() + PRIOR.criterion_sd * rng.normal(size=5))
        listed = []
        for r in range(runs):
            x = ability + factor * PRIOR.group_sd * rng.normal(size=(groups, 1)) - BASE
            first = rng.random(x.shape) < expit(x)
            end = first | (rng.random(x.shape) < expit(x + GAIN))
            tallies = [
                (c, Tally(met=int(first[:, c].sum()), of=groups), Tally(met=int(end[:, c].sum()), of=groups))
                for c in range(5)
            ]
            listed.append(RunEvidence(groups, runs - r, tallies, BASE, np.ones(5), np.ones(5, bool), GAIN))
            ability = ability + DRIFT_SD * rng.normal() + PRIOR.growth_a_grade / 6
        made.append(Results(0.0, 5, listed))
    return made


@pytest.mark.parametrize("truth", [0.5, 1.0, 1.5])
def test_the_truth_is_found_again(truth):
    learnt = learn_apart(invented(np.random.default_rng(3), truth, 40), PRIOR)
    assert abs(np.log(learnt.factor / truth)) < 2.5 * learnt.sd
    assert learnt.factor == pytest.approx(truth, rel=0.25)


def test_more_sections_make_surer_and_few_leave_it_near_one():
    rng = np.random.default_rng(4)
    few, many = (learn_apart(invented(rng, 0.5, sections), PRIOR) for sections in (2, 30))
    assert few.sd > many.sd and abs(np.log(few.factor)) < abs(np.log(many.factor))


def test_it_is_told_after_each_section():
    told = []
    learn_apart(invented(np.random.default_rng(5), 1.0, 3, runs=1), PRIOR, lambda: told.append(1))
    assert len(told) == 3


def test_five_factors_are_enough():
    """The polynomial through five agrees with the evidence of factors between them."""
    made = invented(np.random.default_rng(6), 1.3, 10)
    tried = np.linspace(-1, 1, 5)

    def at(log: float) -> float:
        prior = PRIOR.apart(float(np.exp(log)))
        return sum(log_evidence(prior, s.grade_shift, s.criteria, s.runs) for s in made)

    through = np.polyfit(tried, [at(log) for log in tried], 4)
    for between in (-0.75, -0.25, 0.25, 0.75):
        assert np.polyval(through, between) == pytest.approx(at(between), abs=0.5)
