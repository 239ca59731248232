"""How well known truths are recovered, over many invented sections: `python -m tests.scripts.recovery [--schools N]`.

Prints, for readiness and for the weights, the bias, the error and how often the 80 % ranges hold the truth.
"""

from __future__ import annotations

import argparse

import numpy as np
from tests.readiness.school import ON, SPREAD, sections
from tests.readiness.test_outcome import BASE, PRIOR
from tests.readiness.test_posterior import run

from rungwright.readiness.learning import learn
from rungwright.readiness.posterior import DRIFT_SD, posterior

Z_80 = 1.2816


def readiness(rng: np.random.Generator, count: int, lessons: int, groups: int) -> tuple[float, float, float]:
    """Bias, root mean square error [logit] and coverage of each ability at the lesson to come."""
    off, inside = [], []
    for _ in range(count):
        theta, own, evidence = PRIOR.section_sd * rng.normal(), PRIOR.criterion_sd * rng.normal(size=5), []
        for lesson in range(lessons):
            x = theta + own + PRIOR.group_sd * rng.normal(size=(groups, 1)) - BASE
            met = (rng.random((groups, 5)) < 1 / (1 + np.exp(-x))).sum(0)
            evidence.append(run(groups, [(c, (int(met[c]), groups), None) for c in range(5)], ago=lessons - lesson))
            theta += PRIOR.growth_a_grade / 6 + DRIFT_SD * rng.normal()
        ready = posterior(PRIOR, 0.0, 5, evidence)
        off.append(ready.mean - theta - own)
        inside.append(np.abs(off[-1]) < Z_80 * np.hypot(ready.common_sd, ready.own_sd))
    return float(np.mean(off)), float(np.sqrt(np.mean(np.square(off)))), float(np.mean(inside))


def weights(rng: np.random.Generator, schools: int, count: int, easier_for_weaker: bool) -> tuple[float, ...]:
    """Bias, error and coverage of each factor, and the error of the starting guess."""
    off, start, inside = [], [], []
    for _ in range(schools):
        truth = 1 + SPREAD * rng.normal(size=len(SPREAD))
        learnt = learn(sections(rng, truth, count, easier_for_weaker=easier_for_weaker), PRIOR, ON, SPREAD)
        off.append(learnt.factor - truth)
        start.append(1 - truth)
        inside.append(np.abs(off[-1]) < Z_80 * learnt.sd)
    error, before = (float(np.sqrt(np.mean(np.square(x)))) for x in (off, start))
    return float(np.mean(off)), error, float(np.mean(inside)), before


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--schools", type=int, default=50)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    rng = np.random.default_rng(given.seed)
    print("readiness      lessons groups    bias   error  80 % range holds")
    for lessons in (1, 3, 6):
        for groups in (3, 8):
            bias, error, held = readiness(rng, 10 * given.schools, lessons, groups)
            print(f"{lessons:>22} {groups:>6} {bias:>7.3f} {error:>7.3f} {held:>8.3f}")
    print("weights       sections easier for weaker    bias   error  (start)  80 % range holds")
    for count in (5, 20, 60):
        for easier in (False, True):
            bias, error, held, before = weights(rng, given.schools, count, easier)
            print(f"{count:>22} {easier!s:>18} {bias:>7.3f} {error:>7.3f} {before:>8.3f} {held:>8.3f}")


if __name__ == "__main__":
    main()
