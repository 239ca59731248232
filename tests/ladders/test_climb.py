"""The dynamic programme finds what trying every ladder finds."""

from __future__ import annotations

import numpy as np

from rungwright.ladders.climb import (
    CHANGE_COST,
    EVEN,
    FARTHEST,
    LEAST_CHANGE,
    MOST_CHANGES,
    PASSED_COST,
    STEP,
    UNEVEN_COST,
    Layer,
    climb,
)
from rungwright.ladders.space import Space


def problem(seed: int) -> tuple[Space, np.ndarray, list[Layer]]:
    """Two to four levers of two to four settings on up to three criteria, and two to four rungs.

    A few settings ask hardly more than the one before, and what one lever asks depends a little on the others.
    """
    draw = np.random.default_rng(seed)
    count = int(draw.integers(2, 5))
    sizes = tuple(int(n) for n in draw.integers(2, 5, count))
    space = Space(sizes, tuple(draw.choice(["load", "dry", "room"], count).tolist()))
    at = space.positions(np.arange(space.cells))
    demand = draw.uniform(0, 0.03, space.cells)
    for i, size in enumerate(sizes):
        asks = np.where(draw.random(size - 1) < 0.2, 0.02, draw.uniform(0.05, 0.45, size - 1))
        demand = demand + np.cumsum([0.0, *asks])[at[:, i]]
    layers = []
    for _ in range(int(draw.integers(2, 5))):
        cells = np.flatnonzero(draw.random(space.cells) < 0.8)
        own = np.round(draw.uniform(0, 0.3, len(cells)), 9)
        held = frozenset(draw.choice(count, 1).tolist() if draw.random() < 0.3 else [])
        layers.append(Layer(cells, own, held))
    return space, demand, layers


def step_cost(space: Space, demand: np.ndarray, layer: Layer, a: int, b: int) -> float | None:
    """Written from the rules of a step, with nothing of the programme."""
    grown = demand[b] - demand[a]
    if not STEP[0] - 1e-9 <= grown <= STEP[1] + 1e-9:
        return None
    low, high = space.positions(np.array([a, b])).tolist()

    def by_itself(lever: int) -> float:
        only = [*low[:lever], high[lever], *low[lever + 1 :]]
        return demand[space.cell(only)] - demand[a]

    moved = [i for i in range(len(space.sizes)) if low[i] != high[i]]
    fair = (
        1 <= len(moved) <= 2
        and all(1 <= high[i] - low[i] <= 2 for i in moved)
        and len({space.groups[i] for i in moved}) == len(moved)
        and not layer.held & set(moved)
        and all(by_itself(i) >= LEAST_CHANGE - 1e-9 for i in moved)
    )
    passed = sum(int(high[i]) - int(low[i]) - 1 for i in moved)
    return UNEVEN_COST * (grown - EVEN) ** 2 + CHANGE_COST * len(moved) + PASSED_COST * passed if fair else None


def cost_of(space: Space, demand: np.ndarray, layers: list[Layer], path: tuple[int, ...]) -> float | None:
    total = sum(float(layer.own_cost[list(layer.cells).index(c)]) for layer, c in zip(layers, path, strict=True))
    for i in range(1, len(path)):
        cost = step_cost(space, demand, layers[i], path[i - 1], path[i])
        if cost is None:
            return None
        total += cost
    return total


def every_cost(space: Space, demand: np.ndarray, layers: list[Layer]) -> list[float]:
    """Cost of every ladder that can be climbed. Pairs of neighbours are looked at once, so that trying all is short."""
    ladders = [(int(c), float(own)) for c, own in zip(layers[0].cells, layers[0].own_cost, strict=True)]
    for layer in layers[1:]:
        above = list(zip(layer.cells.tolist(), layer.own_cost.tolist(), strict=True))
        steps = {
            a: [(b, cost + own) for b, own in above if (cost := step_cost(space, demand, layer, a, b)) is not None]
            for a in {top for top, _ in ladders}
        }
        ladders = [(b, cost + more) for a, cost in ladders for b, more in steps[a]]
    return [cost for _, cost in ladders]


def test_it_equals_trying_every_ladder():
    """On two hundred random ladders, most of which can be climbed."""
    climbed = 0
    for seed in range(200):
        space, demand, layers = problem(seed)
        costs = every_cost(space, demand, layers)
        found = climb(space, lambda cells, demand=demand: demand[cells], layers, space.moves(MOST_CHANGES, FARTHEST))
        if not costs:
            assert found is None, seed
            continue
        climbed += 1
        assert abs(found.cost - min(costs)) < 1e-6, seed
        assert abs(cost_of(space, demand, layers, found.cells) - min(costs)) < 1e-6, seed
    assert climbed > 100


def test_moves_are_every_set_with_one_lever_a_criterion():
    space = Space((2, 3, 2, 2), ("load", "load", "dry", "room"))
    up = space.moves(2, 1).up
    levers = [tuple(np.flatnonzero(row).tolist()) for row in up]
    assert levers == [(0,), (1,), (2,), (3,), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)] and up.max() == 1
    # The second lever has three settings, so it alone can climb two: by itself, and beside each of two others.
    assert len(space.moves(2, 2).up) == len(up) + 3


def test_a_lever_that_is_held_moves_in_none():
    moves = Space((3, 3, 3), ("a", "b", "c")).moves(2, 2)
    free = moves.without({1})
    assert not free.up[:, 1].any() and len(free.up) == 2 + 2 + 2 * 2
    assert len(moves.without(set()).up) == len(moves.up)


def test_cells_and_positions_are_inverse():
    space = Space((2, 3, 4), ("a", "b", "c"))
    cells = np.arange(space.cells)
    assert [space.cell(p) for p in space.positions(cells)] == list(cells)


def test_moves_lead_up_and_back():
    space = Space((3, 3), ("a", "b"))
    moves = space.moves(2, 2)
    one = np.array([space.cell([1, 1])])
    _, _, up = space.led_to(one, moves, sign=1)
    _, _, down = space.led_to(one, moves, sign=-1)
    assert sorted(map(tuple, space.positions(up).tolist())) == [(1, 2), (2, 1), (2, 2)]
    assert sorted(map(tuple, space.positions(down).tolist())) == [(0, 0), (0, 1), (1, 0)]
    rows, by, to = space.led_to(np.array([0, 4]), moves, sign=1)
    assert (np.array([0, 4])[rows] + moves.offsets[by] == to).all()


def test_the_nearest_cells_come_first():
    space = Space((3, 3), ("a", "b"))
    cells = space.near([1.0, 0.2], [1.0, 4.0], reach=1.0, free=[np.ones(3, bool)] * 2)
    assert [tuple(p) for p in space.positions(cells)] == [(1, 0), (0, 0), (2, 0), (1, 1), (0, 1), (2, 1)]
