"""The ladder with the least cost: a layered dynamic programme over cells, one layer a rung.

Between neighbours one or two levers move, toward harder and no two of one criterion, each asks something more by
itself, and demand grows by a step inside bounds. The cost is the sum of squared deviations from the even step, a little
for each change and each setting passed over, and what each rung itself costs (how far it stands from where its grade
usually is).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from rungwright.ladders.space import Ints, Moves, Space
from rungwright.recommend.choose import NOTCH

STEP = (0.35, 0.65)
"""Least and most growth of demand from rung to rung [logit]; agreed here."""

SMALL_STEP = NOTCH[0]
"""Least growth where no ladder of even steps is possible, the least that counts as one notch [logit]; agreed here."""

EVEN = NOTCH[1]
"""The step that costs nothing: one notch."""

LEAST_CHANGE = 0.03
"""Least that each change of a step asks by itself, a tenth of a step: less is work that no result would show [logit];
agreed here."""

MOST_CHANGES = 2
"""Levers that differ between neighbouring rungs."""

FARTHEST = 2
"""Settings that one lever climbs from rung to rung, at most; agreed here."""

UNEVEN_COST = 3.0
"""Cost of a step one logit off the even one, squared; agreed here."""

CHANGE_COST = 0.02
"""Cost of one change; agreed here."""

PASSED_COST = 0.08
"""Cost of each setting that a change passes over, so that no ladder jumps where it can step; agreed here."""


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
    space: Space,
    demand: Callable[[Ints], NDArray[np.float64]],
    layers: Sequence[Layer],
    moves: Moves,
    *,
    least: float = STEP[0],
) -> Climbed | None:
    """The cheapest ladder through all layers, gentlest first; None where there is none.

    Parameters: `demand` of cells [logit]; `least` growth of a step [logit].
    Costs are compared to 9 places; ties go to the first cell of a layer and to the first of `moves`.
    """
    last = layers[-1]
    to_top = np.full(space.cells, np.inf)
    to_top[last.cells] = last.own_cost
    taken: list[dict[int, int]] = []
    for layer, above in zip(reversed(layers[:-1]), reversed(layers[1:]), strict=True):
        free = moves.without(above.held)
        rows, by, to = space.led_to(layer.cells, free, sign=1)
        good = np.flatnonzero(np.isfinite(to_top[to]))
        rows, by, to = rows[good], by[good], to[good]
        step = demand(to) - demand(layer.cells)[rows]
        good = np.flatnonzero(fair_step(step, least))
        good = good[each_asks_more(space, demand, layer.cells[rows[good]], free.up[by[good]])]
        rows, by, to, step = rows[good], by[good], to[good], step[good]
        changed = CHANGE_COST * free.changes[by] + PASSED_COST * free.passed[by]
        cost = np.round(UNEVEN_COST * (step - EVEN) ** 2 + changed + to_top[to], 9)
        order = np.lexsort((by, cost, rows))
        rows, which = np.unique(rows[order], return_index=True)
        best = order[which]
        to_top = np.full(space.cells, np.inf)
        to_top[layer.cells[rows]] = np.round(cost[best] + layer.own_cost[rows], 9)
        taken.append(dict(zip(layer.cells[rows].tolist(), to[best].tolist(), strict=True)))
    first = layers[0].cells
    if not len(first) or not np.isfinite(to_top[first]).any():
        return None
    cell = int(first[np.argmin(to_top[first])])
    path, cost_of_all = [cell], float(to_top[cell])
    for leads in reversed(taken):
        path.append(leads[path[-1]])
    return Climbed(tuple(path), cost_of_all)


def fair_step(grown: NDArray[np.float64], least: float) -> NDArray[np.bool_]:
    """Where a growth of demand is a step of a ladder."""
    return (grown >= least - 1e-9) & (grown <= STEP[1] + 1e-9)


def each_asks_more(
    space: Space, demand: Callable[[Ints], NDArray[np.float64]], cells: Ints, up: NDArray[np.int8]
) -> NDArray[np.bool_]:
    """Where every lever of a move from `cells` (moves,) up by `up` (moves, levers) asks more by itself."""
    move, lever = np.nonzero(up)
    alone = cells[move] + up[move, lever] * space.strides[lever]
    idle = demand(alone) - demand(cells)[move] < LEAST_CHANGE - 1e-9
    return np.bincount(move, idle, len(cells)) == 0
