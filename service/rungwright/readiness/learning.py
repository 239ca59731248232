"""How much each weight moves the difficulty, estimated from the runs of many sections (maximum a posteriori).

Only contrasts inside a section teach: each criterion of each section has an intercept of its own that is nearly free,
so that an easier version given to weaker groups does not make a lever look weak. Runs of a section share a deviation
(their groups' mean effect, and the walk of readiness from run to run), and readiness may grow by the same step in all
sections. Sections meet only in the weights, so each is solved by itself (Schur's complement). The model is Fischer's
linear logistic test model (see `rules/sources.yaml`, lltm), the mode is found by Fisher scoring.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.posterior import CHALLENGES_A_GRADE, DRIFT_SD
from rungwright.readiness.response import Counts

INTERCEPT_SD = 5.0
"""Spread of a section's readiness on one criterion [logit]: so wide that other sections do not tell it."""

GROWTH_SD = 0.1
"""Spread of the growth of readiness from one run to the next [logit]; starting guess."""

MOST_STEPS = 60


@dataclass(frozen=True)
class Compared:
    """The runs of one section that are compared, oldest first.

    `parts` (runs, weights): what each weight adds at its starting guess, less the preset's; `groups` (runs,). A row is
    a count of one criterion in one run: `run`, `criterion` (rows,) index them; `met`, `of`, `kind`, `keep`, `gain`
    (rows,) are as in `response.Counts`. `centre` (criteria,): ability less base difficulty that is usual for the
    section [logit].
    """

    parts: NDArray[np.float64]
    groups: NDArray[np.int64]
    run: NDArray[np.int64]
    criterion: NDArray[np.int64]
    met: NDArray[np.float64]
    of: NDArray[np.float64]
    kind: NDArray[np.int64]
    keep: NDArray[np.float64]
    gain: NDArray[np.float64]
    centre: NDArray[np.float64]


@dataclass(frozen=True)
class Learnt:
    """`factor`, `sd` (weights,); `growth` from run to run [logit]; `steps` taken until nothing moved any more."""

    factor: NDArray[np.float64]
    sd: NDArray[np.float64]
    growth: float
    steps: int


@dataclass(frozen=True)
class _Section:
    """One section's share of the equations: rows by local (intercepts, run deviations) and by shared unknowns."""

    rows: slice
    local: NDArray
    shared: NDArray
    precision: NDArray
    centre: NDArray


def learn(
    sections: Sequence[Compared],
    prior: ReadinessPrior,
    on: NDArray[np.float64],
    spread: NDArray[np.float64],
    tick: Callable[[], None] = lambda: None,
) -> Learnt:
    """Factors of the weights after the runs of `sections`, 1 where nothing was compared.

    Parameters: `on` (weights, criteria) tells what each weight touches; `spread` (weights,), standard deviation of each
    factor before any run; `tick` is called after each of at most MOST_STEPS steps. Raises FloatingPointError where the
    steps do not settle.
    """
    shared_centre = np.append(np.ones(len(spread)), prior.growth_a_grade / CHALLENGES_A_GRADE)
    shared_precision = np.diag(1 / np.append(spread, GROWTH_SD) ** 2)
    made, start = [], 0
    for section in sections:
        made.append(_section(section, prior, on, start))
        start += len(section.met)
    if not made:
        return Learnt(np.ones(len(spread)), spread.copy(), float(shared_centre[-1]), 0)
    counts = Counts(
        *(np.concatenate([getattr(s, name) for s in sections]) for name in ("met", "of", "kind", "keep", "gain")),
        np.concatenate([prior.group_sd * np.sqrt(1 - 1 / s.groups[s.run]) for s in sections]),
    )
    shared, local = shared_centre.copy(), [s.centre.copy() for s in made]
    for steps in range(1, MOST_STEPS + 1):
        at = np.concatenate([s.local @ x + s.shared @ shared for s, x in zip(made, local, strict=True)])
        slope, weight = counts.score(at)
        information = shared_precision.copy()
        score = -shared_precision @ (shared - shared_centre)
        solved = []
        for s, x in zip(made, local, strict=True):
            g, w = slope[s.rows], weight[s.rows, None]
            inner = s.precision + (s.local * w).T @ s.local
            across = (s.local * w).T @ s.shared
            own = s.local.T @ g - s.precision @ (x - s.centre)
            both = np.linalg.solve(inner, np.column_stack([across, own]))
            information += (s.shared * w).T @ s.shared - across.T @ both[:, :-1]
            score += s.shared.T @ g - across.T @ both[:, -1]
            solved.append(both)
        step = np.linalg.solve(information, score)
        inner_steps = [both[:, -1] - both[:, :-1] @ step for both in solved]
        largest = max(np.abs(step).max(), *(np.abs(x).max() for x in inner_steps))
        part = min(1.0, 1.5 / max(largest, 1e-12))
        shared = shared + part * step
        local = [x + part * more for x, more in zip(local, inner_steps, strict=True)]
        tick()
        if largest < 1e-6:
            covariance = np.linalg.inv(information)
            return Learnt(shared[:-1], np.sqrt(covariance.diagonal()[:-1]), float(shared[-1]), steps)
    raise FloatingPointError("the weights did not settle")


def _section(section: Compared, prior: ReadinessPrior, on: NDArray, start: int) -> _Section:
    criteria, runs = on.shape[1], len(section.groups)
    rows = np.arange(len(section.met))
    local = np.zeros((len(rows), criteria + runs))
    local[rows, section.criterion] = 1
    local[rows, criteria + section.run] = 1
    # A harder setting takes from the ability; each run later adds a step of growth.
    shared = np.column_stack([-section.parts[section.run] * on[:, section.criterion].T, section.run.astype(float)])
    walk = DRIFT_SD**2 * np.minimum.outer(np.arange(runs), np.arange(runs))
    precision = np.zeros((criteria + runs, criteria + runs))
    precision[:criteria, :criteria] = np.eye(criteria) / INTERCEPT_SD**2
    precision[criteria:, criteria:] = np.linalg.inv(walk + np.diag(prior.group_sd**2 / section.groups))
    return _Section(
        slice(start, start + len(rows)), local, shared, precision, np.append(section.centre, np.zeros(runs))
    )
