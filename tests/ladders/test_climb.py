"""The dynamic programme finds what trying every ladder finds."""

from __future__ import annotations

from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.ladders.climb import (
    CHANGE_COST,
    EVEN,
    FARTHEST,
    MOST_CHANGES,
    PASSED_COST,
    STEP,
    UNEVEN_COST,
    Layer,
    climb,
)
from rungwright.ladders.space import Space


@st.composite
def problems(draw):
    """Up to four levers of two to four settings on two or three criteria, demand rising along every lever."""
    count = draw(st.integers(2, 4))
    sizes = tuple(draw(st.lists(st.integers(2, 4), min_size=count, max_size=count)))
    groups = tuple(draw(st.lists(st.sampled_from(["load", "dry", "room"]), min_size=count, max_size=count)))
    space = Space(sizes, groups)
    weights = [draw(st.lists(st.floats(0.05, 0.5), min_size=size - 1, max_size=size - 1)) for size in sizes]
    at = space.positions(np.arange(space.cells))
    demand = sum(np.cumsum([0.0, *w])[at[:, i]] for i, w in enumerate(weights))
    layers = []
    for _ in range(draw(st.integers(2, 4))):
        cells = np.array(sorted(draw(st.sets(st.integers(0, space.cells - 1), min_size=1, max_size=space.cells))))
        own = np.round([draw(st.floats(0, 0.3)) for _ in cells], 9)
        held = frozenset(draw(st.sets(st.integers(0, count - 1), max_size=1)))
        layers.append(Layer(cells, own, held))
    return space, demand, layers


def step_cost(space: Space, demand: np.ndarray, layer: Layer, a: int, b: int) -> float | None:
    """Written from the rules of a step, with nothing of the programme."""
    low, high = space.positions(np.array([a, b]))
    moved = [i for i in range(len(space.sizes)) if low[i] != high[i]]
    grown = demand[b] - demand[a]
    fair = (
        1 <= len(moved) <= 2
        and all(1 <= high[i] - low[i] <= 2 for i in moved)
        and len({space.groups[i] for i in moved}) == len(moved)
        and not layer.held & set(moved)
        and STEP[0] - 1e-9 <= grown <= STEP[1] + 1e-9
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


@settings(max_examples=150, deadline=None, derandomize=True)
@given(problems())
def test_it_equals_trying_every_ladder(problem):
    space, demand, layers = problem
    # Every pair of neighbours first, so that trying all of them stays short.
    paths = [(int(c),) for c in layers[0].cells]
    for i in range(1, len(layers)):
        paths = [
            (*p, int(c))
            for p, c in product(paths, layers[i].cells)
            if step_cost(space, demand, layers[i], p[-1], int(c)) is not None
        ]
    costs = [cost_of(space, demand, layers, path) for path in paths]
    found = climb(space, demand, layers, space.moves(MOST_CHANGES, FARTHEST))
    if not costs:
        assert found is None
        return
    assert abs(found.cost - min(costs)) < 1e-6
    assert abs(cost_of(space, demand, layers, found.cells) - min(costs)) < 1e-6


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
