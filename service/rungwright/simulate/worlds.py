"""Worlds to teach in: one as the model has it, and others that differ from it in one way each.

A world says how truth is drawn; a school is one draw of what all its classes share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import ReadinessPrior
from rungwright.readiness.difficulty import Difficulty
from rungwright.readiness.posterior import CHALLENGES_A_GRADE, DRIFT_SD


@dataclass(frozen=True)
class World:
    """`weight_sd`, `margin_sd`: spread of the true factor of each lever's weight and of each margin's, 1 if 0.

    `strength_sd`: spread of each criterion's true difficulty about the assumed one [logit]. `spread` multiplies how
    much sections, criteria and groups differ; `growth` and `drift` how much readiness grows and walks from lesson to
    lesson.
    """

    name: str
    says: str
    weight_sd: float = 0.0
    margin_sd: float = 0.0
    strength_sd: float = 0.0
    spread: float = 1.0
    growth: float = 1.0
    drift: float = 1.0


WORLDS = {
    world.name: world
    for world in (
        World("as_assumed", "as the model has it"),
        World("other_weights", "effects of levers off: a step of half a unit is off by .3", weight_sd=0.6),
        World("wrong_margins", "effects of the load and wind margins off", margin_sd=0.8),
        World("other_strengths", "criteria harder or easier than assumed", strength_sd=0.4),
        World("wide_spreads", "classes and groups differ half as much again", spread=1.5),
        World("narrow_spreads", "classes and groups differ half as much", spread=0.5),
        World("fast_growth", "readiness grows five times as fast and walks further", growth=5.0, drift=1.4),
        World(
            "all_off",
            "all of these at once",
            weight_sd=0.6,
            margin_sd=0.8,
            strength_sd=0.4,
            spread=1.25,
            growth=3.0,
            drift=1.2,
        ),
    )
}


@dataclass(frozen=True)
class School:
    """What is true for all classes of one school: `factor` (weights,), `strength` (criteria,) [logit]."""

    prior: ReadinessPrior
    factor: NDArray[np.float64]
    strength: NDArray[np.float64]
    growth: float
    drift: float


def draw_school(world: World, difficulty: Difficulty, prior: ReadinessPrior, rng: np.random.Generator) -> School:
    margin = np.array([w.term is not None for w in difficulty.weights])
    spread = np.where(margin, world.margin_sd, world.weight_sd)
    # Harder stays harder: a truth that turns a lever round would not be a truth about difficulty.
    factor = np.maximum(1 + spread * rng.normal(size=len(margin)), 0)
    return School(
        prior.apart(world.spread),
        factor,
        world.strength_sd * rng.normal(size=difficulty.on.shape[1]),
        world.growth * prior.growth_a_grade / CHALLENGES_A_GRADE,
        world.drift * DRIFT_SD,
    )
