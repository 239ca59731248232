"""The ladder with the least cost: a layered dynamic programme over cells, one layer a rung.

Between neighbours at most a few levers move, each by one setting toward harder and no two of one criterion, and demand
grows by a step inside bounds. The cost is the sum of squared deviations from the even step, a little for each change,
and what each rung itself costs (how far it stands from where its grade usually is).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from rungwright.ladders.space import Ints, Space
from rungwright.recommend.choose import NOTCH

STEP = (0.35, 0.65)
"""Least and most growth of demand from rung to rung [logit]; agreed here."""

EVEN = NOTCH[1]
"""The step that costs nothing: one notch."""

MOST_CHANGES = 4
UNEVEN_COST = 3.0
"""Cost of a step one logit off the even one, squared; agreed here."""

CHANGE_COST = 0.02
"""Cost of one change; agreed here."""


@dataclass(frozen=True)
class Layer:
    """The cells that one rung may be. `own_cost` (cells,) is what each costs by itself.

    `held`: levers that may not move on reaching this rung.
    """

    cells: Ints
    own_cost: NDArray[np.float64]
    held: frozenset[int] = field(default=frozenset())


@dataclass(frozen=True)
class Climbed:
    cells: tuple[int, ...]
    cost: float


def climb(
    space: Space, demand: NDArray[np.float64], layers: Sequence[Layer], *, most_changes: int = MOST_CHANGES
) -> Climbed | None:
    """The cheapest ladder through all layers, gentlest first; None where there is none.

    Parameters: `demand` (space.cells,) [logit], used only at cells of the layers.
    Costs are compared to 9 places; ties go to the first cell of a layer and to the first of `Space.moves`.
    """
    moves = space.moves(most_changes)
    last = layers[-1]
    to_top = np.full(space.cells, np.inf)
    to_top[last.cells] = last.own_cost
    taken: list[Ints] = []
    for layer, above in zip(reversed(layers[:-1]), reversed(layers[1:]), strict=True):
        here = demand[layer.cells]
        best, by = np.full(len(layer.cells), np.inf), np.zeros(len(layer.cells), np.int64)
        for m, (rows, to) in enumerate(space.led_to(layer.cells, moves, sign=1)):
            if above.held.intersection(moves[m].levers):
                continue
            reached = np.isfinite(to_top[to])
            rows, to = rows[reached], to[reached]
            step = demand[to] - here[rows]
            fair = fair_step(step)
            rows, to, step = rows[fair], to[fair], step[fair]
            cost = np.round(UNEVEN_COST * (step - EVEN) ** 2 + CHANGE_COST * len(moves[m].levers) + to_top[to], 9)
            better = cost < best[rows]
            best[rows[better]], by[rows[better]] = cost[better], m
        to_top = np.full(space.cells, np.inf)
        to_top[layer.cells] = np.round(best + layer.own_cost, 9)
        step_by = np.zeros(space.cells, np.int64)
        step_by[layer.cells] = by
        taken.append(step_by)
    first = layers[0].cells
    if not len(first) or not np.isfinite(to_top[first]).any():
        return None
    cell = int(first[np.argmin(to_top[first])])
    path, cost = [cell], float(to_top[cell])
    for step_by in reversed(taken):
        path.append(path[-1] + moves[step_by[path[-1]]].offset)
    return Climbed(tuple(path), cost)


def fair_step(grown: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Where a growth of demand is a step of a ladder."""
    return (grown >= STEP[0] - 1e-9) & (grown <= STEP[1] + 1e-9)
