"""A school of invented sections with a known truth, drawn without any code of the product but its base difficulties."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from rungwright.readiness.learning import Compared
from rungwright.readiness.posterior import DRIFT_SD
from rungwright.readiness.response import FIRST, SECOND

from .test_outcome import BASE, GAIN, PRIOR

STEP = np.array([0.55, 0.5, 0.5, 0.45, 0.3, 0.4])
"""What each of six weights adds at its starting guess when its lever stands at the harder of two settings [logit]."""

ON = np.zeros((6, 5))
ON[0, 2] = ON[1, 1] = ON[2, 0] = ON[3, 4] = ON[5, 2] = 1
ON[4] = 1

SPREAD = np.full(6, 0.5)


def sections(
    rng: np.random.Generator, factor: NDArray, count: int, *, runs: int = 2, groups: int = 8, easier_for_weaker: bool
) -> list[Compared]:
    """`factor` (weights,) is the truth; `easier_for_weaker` gives weak sections easier settings 3 times in 4."""
    return [_section(rng, factor, runs, groups, easier_for_weaker) for _ in range(count)]


def _section(rng: np.random.Generator, factor: NDArray, runs: int, groups: int, easier_for_weaker: bool) -> Compared:
    theta, own = PRIOR.section_sd * rng.normal(), PRIOR.criterion_sd * rng.normal(size=5)
    harder = (0.75 if theta > 0 else 0.25) if easier_for_weaker else 0.5
    parts, rows = (rng.random((runs, 6)) < harder) * STEP, []
    for r in range(runs):
        x = theta + own + PRIOR.group_sd * rng.normal(size=(groups, 1)) - BASE - (parts[r] * factor) @ ON
        first = rng.random((groups, 5)) < expit(x)
        again = rng.random((groups, 5)) < expit(x + GAIN)
        for c in range(5):
            met = int(first[:, c].sum())
            rows.append((r, c, met, groups, FIRST))
            if met < groups:
                rows.append((r, c, int((again & ~first)[:, c].sum()), groups - met, SECOND))
        theta += DRIFT_SD * rng.normal() + 0.04
    run, criterion, met, of, kind = np.array(rows).T
    size = np.full(runs, groups)
    return Compared(
        parts,
        size,
        run,
        criterion,
        met.astype(float),
        of.astype(float),
        kind,
        np.ones(len(met)),
        GAIN[criterion],
        -BASE,
    )
