"""Settings of the levers that climb, as cells of a grid; and the moves between neighbouring rungs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Moves:
    """The steps that a ladder may take. `up` (moves, levers): by how many settings each lever gets harder."""

    up: NDArray[np.int8]
    offsets: Ints
    """(moves,): from a cell to the one it reaches"""

    @cached_property
    def changes(self) -> Ints:
        """(moves,): levers that differ."""
        return (self.up > 0).sum(axis=1)

    @cached_property
    def passed(self) -> Ints:
        """(moves,): settings that levers go past."""
        return self.up.sum(axis=1) - self.changes

    def without(self, levers: Collection[int]) -> Moves:
        """Those that move none of `levers`."""
        free = ~(self.up[:, sorted(levers)] > 0).any(axis=1)
        return Moves(self.up[free], self.offsets[free])


@dataclass(frozen=True)
class Space:
    """`sizes`: settings of each lever; `groups`: the criterion of each lever, one step a rung on each."""

    sizes: tuple[int, ...]
    groups: tuple[str, ...]

    @property
    def cells(self) -> int:
        return int(np.prod(self.sizes))

    @cached_property
    def strides(self) -> Ints:
        return np.cumprod([1, *self.sizes[:0:-1]])[::-1].astype(np.int64)

    def cell(self, positions: Sequence[int]) -> int:
        return int(np.dot(positions, self.strides))

    def positions(self, cells: Ints) -> NDArray[np.int8]:
        """(cells, levers), 0 gentlest."""
        return self._places[cells]

    @cached_property
    def _places(self) -> NDArray[np.int8]:
        return np.indices(self.sizes, np.int8).reshape(len(self.sizes), -1).T.copy()

    def near(
        self,
        path: Sequence[float],
        weights: Sequence[float],
        *,
        reach: float,
        free: Sequence[NDArray[np.bool_]],
        among: NDArray[np.bool_] | None = None,
    ) -> Ints:
        """Cells with no lever further than `reach` settings from `path`, the nearest first.

        `weights` (levers,) weigh the squared distances; `free`, by lever (its settings,), and `among` (space.cells,)
        leave out the others.
        """
        cells, far = np.zeros(1, np.int64), np.zeros(1)
        for size, stride, at, weight, may in zip(self.sizes, self.strides, path, weights, free, strict=True):
            near = np.flatnonzero(may & (np.abs(np.arange(size) - min(max(at, 0), size - 1)) <= reach + 1e-9))
            cells = np.add.outer(cells, near * stride).ravel()
            far = np.add.outer(far, weight * (near - at) ** 2).ravel()
        if among is not None:
            cells, far = cells[among[cells]], far[among[cells]]
        return cells[np.lexsort((cells, np.round(far, 9)))]

    def moves(self, most: int, far: int) -> Moves:
        """Every way for 1 to `most` levers, no two of one group, to get harder by 1 to `far` settings each.

        Fewest levers first, then fewest settings, then in lever order.
        """
        found = []
        for count in range(1, most + 1):
            for levers in combinations(range(len(self.sizes)), count):
                if len({self.groups[i] for i in levers}) == count:
                    ways = [range(1, min(far, self.sizes[i] - 1) + 1) for i in levers]
                    found += [(count, sum(by), levers, by) for by in product(*ways)]
        up = np.zeros((len(found), len(self.sizes)), np.int8)
        for row, (_, _, levers, by) in zip(up, sorted(found), strict=True):
            row[list(levers)] = by
        return Moves(up, up @ self.strides)

    def led_to(self, cells: Ints, moves: Moves, *, sign: int) -> tuple[Ints, Ints, Ints]:
        """Every move that can be made from one of `cells`, with sign -1 undone: its row, the move, where it leads.

        In the order of rows, then of moves.
        """
        at = self.positions(cells)
        room = np.asarray(self.sizes, np.int8) - 1 - at if sign > 0 else at
        can = np.ones((len(cells), len(moves.up)), bool)
        for lever in range(len(self.sizes)):
            can &= room[:, lever, None] >= moves.up[:, lever]
        rows, by = np.nonzero(can)
        return rows, by, cells[rows] + sign * moves.offsets[by]
