"""Readiness of a section against the criteria, from its runs.

logit P(group g of section s meets criterion c) = theta_s + delta_sc + u_g + gain * [second try] - d_c
(Rasch's model with a section-by-criterion term and a group effect shared by all criteria of a group; see
`rules/sources.yaml`, rasch). Only counts are known, so the group effect is split into its mean over the groups of a
run, common to all criteria of that run, and the rest, averaged out by quadrature. The mode and curvature of the
posterior are found by Fisher scoring.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.domain.run import Tally
from rungwright.readiness.nodes import expit, normal_nodes

DRIFT_SD = 0.35
"""Random walk of readiness from one challenge to the next [logit]; starting guess."""


@dataclass(frozen=True)
class RunEvidence:
    """One run that teaches: tallies by criterion index, read at the run's own difficulty.

    `difficulty`, `keep`, `second` are (criteria,): logits, chance to keep a result, whether a second try was given.
    """

    groups: int
    runs_ago: int
    tallies: Sequence[tuple[int, Tally | None, Tally | None]]
    difficulty: NDArray
    keep: NDArray
    second: NDArray


@dataclass(frozen=True)
class Posterior:
    """Ability on each criterion, theta + delta_c: a common part shared by all criteria and a part of each one's own.

    `mean` (criteria,), `common_sd` a number, `own_sd` (criteria,) [logit].
    """

    mean: NDArray
    common_sd: float
    own_sd: NDArray


def posterior(prior: ReadinessPrior, grade_shift: float, criteria: int, runs: Sequence[RunEvidence]) -> Posterior:
    """Readiness after `runs`; without any, the band's prior at this grade.

    Parameters: `grade_shift`, grades above the middle of the band; `criteria`, how many there are.
    """
    centre = np.zeros(1 + criteria + len(runs))
    centre[0] = prior.growth_a_grade * grade_shift
    sd = np.concatenate(
        [
            [prior.section_sd],
            np.full(criteria, prior.criterion_sd),
            # The mean group effect of the run, and how far readiness has drifted since.
            [np.sqrt(prior.group_sd**2 / run.groups + DRIFT_SD**2 * run.runs_ago) for run in runs],
        ]
    )
    rows = [row for index, run in enumerate(runs) for row in _rows(run, index, criteria, prior)]
    precision = np.diag(1 / sd**2)
    x, information = centre.copy(), precision
    if rows:
        x, information = _fit(rows, centre, precision, prior)
    covariance = np.linalg.inv(information)
    to_ability = np.hstack([np.ones((criteria, 1)), np.eye(criteria)])
    ability = to_ability @ covariance[: 1 + criteria, : 1 + criteria] @ to_ability.T
    common = ability[~np.eye(criteria, dtype=bool)].mean() if criteria > 1 else ability[0, 0]
    common = min(max(common, 0.0), ability.diagonal().min())
    return Posterior(to_ability @ x[: 1 + criteria], float(np.sqrt(common)), np.sqrt(ability.diagonal() - common))


@dataclass(frozen=True)
class _Row:
    """Binomial counts of one criterion in one run: `kind` first test, second try, or by the end alone."""

    design: NDArray
    met: int
    of: int
    kind: str
    difficulty: float
    keep: float
    within_sd: float


def _rows(run: RunEvidence, index: int, criteria: int, prior: ReadinessPrior):
    within = prior.group_sd * np.sqrt((run.groups - 1) / run.groups)
    for c, first, end in run.tallies:
        design = np.zeros(1 + criteria)
        design[[0, 1 + c]] = 1

        def row(kind: str, met: int, of: int, c=c, design=design):
            return _Row(np.append(design, index), met, of, kind, run.difficulty[c], run.keep[c], within)

        second = bool(run.second[c])
        if first and first.of:
            yield row("first", first.met, first.of)
            if end and second and first.of > first.met:
                # Those that missed the first test tried once more.
                yield row("second", min(max(end.met - first.met, 0), first.of - first.met), first.of - first.met)
        elif end and end.of:
            yield row("end" if second else "first", end.met, end.of)


def _fit(rows: list[_Row], centre: NDArray, precision: NDArray, prior: ReadinessPrior) -> tuple[NDArray, NDArray]:
    runs_at = len(rows[0].design) - 1
    design = np.zeros((len(rows), len(centre)))
    for i, row in enumerate(rows):
        design[i, :runs_at] = row.design[:-1]
        design[i, runs_at + int(row.design[-1])] = 1
    met, of, d, keep, within = (
        np.array([getattr(row, name) for row in rows], float)
        for name in ("met", "of", "difficulty", "keep", "within_sd")
    )
    kind = np.array([row.kind for row in rows])
    z, w = normal_nodes(9)
    x, information = centre.copy(), precision
    for _ in range(50):
        eta = (design @ x - d)[:, None] + within[:, None] * z
        p, q = expit(eta), expit(eta + prior.second_try_gain)
        p1, q1 = p * (1 - p), q * (1 - q)
        k = keep[:, None]
        end, end1 = k * p + (1 - p) * q, (k - q) * p1 + (1 - p) * q1
        is_second, is_end = (kind == "second")[:, None], (kind == "end")[:, None]
        chance = (np.where(is_end, end, np.where(is_second, q, p)) * w).sum(1)
        slope = (np.where(is_end, end1, np.where(is_second, q1, p1)) * w).sum(1)
        weight = slope / np.maximum(chance * (1 - chance), 1e-12)
        score = design.T @ ((met - of * chance) * weight) - precision @ (x - centre)
        information = precision + (design * (of * slope * weight)[:, None]).T @ design
        step = np.linalg.solve(information, score)
        largest = np.abs(step).max()
        x = x + step * min(1.0, 1.5 / max(largest, 1e-12))
        if largest < 1e-7:
            break
    return x, information
