"""Readiness of a section against the criteria, from its runs.

logit P(group g of section s meets criterion c in run r) = theta_sr + delta_sc + u_g + gain_c * [second try] - d_c
(Rasch's model with a section-by-criterion term and a group effect shared by all criteria of a group; see
`rules/sources.yaml`, rasch). theta starts from the band's prior at the first run, walks at random from one challenge to
the next and grows a little; groups are made up anew each time, so their effects are never carried on. Only counts are
known, so the group effect is split into its mean over the groups of a run, common to all criteria of that run, and the
rest, averaged out by quadrature. The mode and curvature of the posterior are found by Fisher scoring.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.domain.run import Tally
from rungwright.readiness.response import END, FIRST, SECOND, Counts

DRIFT_SD = 0.35
"""Random walk of readiness from one challenge to the next [logit]; starting guess."""

CHALLENGES_A_GRADE = 6
"""Challenges over which readiness grows by a grade's worth; starting guess."""

OTHER_CHALLENGE_SD = {"same_family": 0.3, "other_family": 0.6}
"""How far readiness in another challenge may stand from readiness in this one [logit]; starting guess."""


@dataclass(frozen=True)
class RunEvidence:
    """One run that teaches: tallies by criterion index, read at the run's own difficulty.

    `runs_ago` is 1 for the run just before the lesson to come. `difficulty`, `keep`, `second`, `gain` are (criteria,):
    logits, chance to keep a result, whether a second try was given, what it adds [logit]. Criteria of another challenge
    stand beyond those of this one; `elsewhere` is that challenge, and `elsewhere_sd` how far readiness there may stand
    from readiness here.
    """

    groups: int
    runs_ago: int
    tallies: Sequence[tuple[int, Tally | None, Tally | None]]
    difficulty: NDArray
    keep: NDArray
    second: NDArray
    gain: NDArray
    elsewhere: str | None = None
    elsewhere_sd: float = 0.0


@dataclass(frozen=True)
class Posterior:
    """Ability on each criterion, theta + delta_c: a common part shared by all criteria and a part of each one's own.

    `mean` (criteria,), `common_sd` a number, `own_sd` (criteria,) [logit].
    """

    mean: NDArray
    common_sd: float
    own_sd: NDArray

    @property
    def middle(self) -> Posterior:
        """The ability that is as likely passed as missed, taken as sure."""
        return Posterior(self.mean, 0.0, np.zeros_like(self.own_sd))


def posterior(prior: ReadinessPrior, grade_shift: float, criteria: int, runs: Sequence[RunEvidence]) -> Posterior:
    """Readiness at the lesson to come, after `runs`; without any, the band's prior at this grade.

    Parameters: `grade_shift`, grades above the middle of the band; `criteria`, how many this challenge has.
    """
    before = _before(prior, grade_shift, criteria, runs)
    x, information = _fit(_told(prior, runs, before), before)
    covariance = np.linalg.inv(information)
    to_ability = np.zeros((criteria, len(x)))
    to_ability[:, 0] = 1
    to_ability[:, 1 : 1 + criteria] = np.eye(criteria)
    if runs:
        to_ability[:, -1] = 1
    ability = to_ability @ covariance @ to_ability.T
    common = ability[~np.eye(criteria, dtype=bool)].mean() if criteria > 1 else ability[0, 0]
    common = min(max(common, 0.0), ability.diagonal().min())
    return Posterior(to_ability @ x, float(np.sqrt(common)), np.sqrt(ability.diagonal() - common))


def log_evidence(prior: ReadinessPrior, grade_shift: float, criteria: int, runs: Sequence[RunEvidence]) -> float:
    """How well `prior` foretold the results of `runs`: the logarithm of their chance, binomial coefficients left out.

    Laplace's approximation at the mode (see `rules/sources.yaml`, laplace_evidence). Parameters as for `posterior`.
    """
    before = _before(prior, grade_shift, criteria, runs)
    told = _told(prior, runs, before)
    if told is None:
        return 0.0
    x, information = _fit(told, before)
    off = x - before.centre
    fits = told.counts.log_likelihood(told.design @ x - told.difficulty).sum() - off @ before.precision @ off / 2
    return float(fits + (np.linalg.slogdet(before.precision)[1] - np.linalg.slogdet(information)[1]) / 2)


@dataclass(frozen=True)
class _Before:
    """What is known of the unknowns before any result: readiness at the first run, each criterion's own part (`terms`
    of them), how far each run and the lesson to come are off."""

    terms: int
    centre: NDArray
    precision: NDArray


def _before(prior: ReadinessPrior, grade_shift: float, criteria: int, runs: Sequence[RunEvidence]) -> _Before:
    terms = max([criteria, *(len(run.difficulty) for run in runs)])
    since = _lessons_since_the_first(runs)
    growth = prior.growth_a_grade / CHALLENGES_A_GRADE
    centre = np.concatenate([[prior.growth_a_grade * grade_shift], np.zeros(terms), growth * since])
    precision = np.zeros((len(centre), len(centre)))
    precision[0, 0] = 1 / prior.section_sd**2
    precision[1 : 1 + terms, 1 : 1 + terms] = np.eye(terms) / prior.criterion_sd**2
    if runs:
        precision[1 + terms :, 1 + terms :] = np.linalg.inv(_walk(prior, runs, since))
    return _Before(terms, centre, precision)


def _lessons_since_the_first(runs: Sequence[RunEvidence]) -> NDArray[np.float64]:
    """Lessons from the first run to each run, and to the lesson to come, (runs + 1,); empty without a run."""
    ago = np.array([run.runs_ago for run in runs], float)
    return np.append(ago.max() - ago, ago.max()) if runs else ago


def _walk(prior: ReadinessPrior, runs: Sequence[RunEvidence], since: NDArray) -> NDArray[np.float64]:
    """How the deviations from readiness at the first run go together, those of the runs and of the lesson to come."""
    together = DRIFT_SD**2 * np.minimum.outer(since, since)
    together += np.diag([*(prior.group_sd**2 / run.groups for run in runs), 1e-9])
    for i, a in enumerate(runs):
        for j, b in enumerate(runs):
            if a.elsewhere is not None and a.elsewhere == b.elsewhere:
                together[i, j] += a.elsewhere_sd**2
    return together


@dataclass(frozen=True)
class _Row:
    """One count of one criterion in one run."""

    term: int
    run: int
    met: int
    of: int
    kind: int


def tally_counts(first: Tally | None, end: Tally | None, *, second: bool) -> Iterator[tuple[int, int, int]]:
    """What the tallies of one criterion say, as (met, of, kind).

    `second` tells whether what was missed could be tried again; where it could not, the end is the first test.
    """
    if first and first.of:
        yield first.met, first.of, FIRST
        if end and second and first.of > first.met:
            missed = first.of - first.met
            yield min(max(end.met - first.met, 0), missed), missed, SECOND
    elif end and end.of:
        yield end.met, end.of, END if second else FIRST


@dataclass(frozen=True)
class _Told:
    """All counts of all runs: `design` (rows, unknowns) makes the ability of a row, `difficulty` (rows,) [logit]."""

    design: NDArray
    counts: Counts
    difficulty: NDArray


def _told(prior: ReadinessPrior, runs: Sequence[RunEvidence], before: _Before) -> _Told | None:
    """None where no run counts anything."""
    rows = [
        _Row(c, index, met, of, kind)
        for index, run in enumerate(runs)
        for c, first, end in run.tallies
        for met, of, kind in tally_counts(first, end, second=bool(run.second[c]))
    ]
    if not rows:
        return None
    design = np.zeros((len(rows), len(before.centre)))
    for i, row in enumerate(rows):
        design[i, [0, 1 + row.term, 1 + before.terms + row.run]] = 1
    within = [prior.group_sd * np.sqrt((run.groups - 1) / run.groups) for run in runs]
    counts = Counts(
        np.array([row.met for row in rows], float),
        np.array([row.of for row in rows], float),
        np.array([row.kind for row in rows]),
        np.array([runs[row.run].keep[row.term] for row in rows]),
        np.array([runs[row.run].gain[row.term] for row in rows]),
        np.array([within[row.run] for row in rows]),
    )
    return _Told(design, counts, np.array([runs[row.run].difficulty[row.term] for row in rows]))


def _fit(told: _Told | None, before: _Before) -> tuple[NDArray, NDArray]:
    """Mode of the posterior and its information."""
    x, information = before.centre.copy(), before.precision
    if told is None:
        return x, information
    for _ in range(50):
        slope, weight = told.counts.score(told.design @ x - told.difficulty)
        score = told.design.T @ slope - before.precision @ (x - before.centre)
        information = before.precision + (told.design * weight[:, None]).T @ told.design
        step = np.linalg.solve(information, score)
        largest = np.abs(step).max()
        x = x + step * min(1.0, 1.5 / max(largest, 1e-12))
        if largest < 1e-7:
            break
    return x, information
