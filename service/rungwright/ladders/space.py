"""Settings of the levers that climb, as cells of a grid; and the moves between neighbouring rungs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Move:
    """Each of these levers one setting harder; `offset` leads from a cell to the one it reaches."""

    levers: tuple[int, ...]
    offset: int


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

    def positions(self, cells: Ints) -> Ints:
        """(cells, levers), 0 gentlest."""
        return cells[:, None] // self.strides % np.asarray(self.sizes)

    def near(
        self,
        path: Sequence[float],
        weights: Sequence[float],
        *,
        reach: float,
        among: NDArray[np.bool_] | None = None,
    ) -> Ints:
        """Cells with no lever further than `reach` settings from `path`, the nearest first.

        `weights` (levers,) weigh the squared distances; `among` (space.cells,) leaves out the others.
        """
        choices = [
            [p for p in range(size) if abs(p - min(max(at, 0), size - 1)) <= reach + 1e-9]
            for size, at in zip(self.sizes, path, strict=True)
        ]
        grid = np.stack(np.meshgrid(*choices, indexing="ij"), axis=-1).reshape(-1, len(self.sizes))
        if among is not None:
            grid = grid[among[grid @ self.strides]]
        far = np.round((grid - np.asarray(path)) ** 2 @ np.asarray(weights, float), 9)
        cells = grid @ self.strides
        return cells[np.lexsort((cells, far))]

    def moves(self, most: int) -> list[Move]:
        """Every set of 1 to `most` levers with no two of one group; fewest levers first, then in lever order."""
        groups = list(dict.fromkeys(self.groups))
        choices = [(None, *(i for i, g in enumerate(self.groups) if g == group)) for group in groups]
        sets = [tuple(sorted(i for i in chosen if i is not None)) for chosen in product(*choices)]
        wanted = sorted({s for s in sets if 1 <= len(s) <= most}, key=lambda s: (len(s), s))
        return [Move(s, int(self.strides[list(s)].sum())) for s in wanted]

    def one_step(self, cells: Ints, moves: Sequence[Move], *, sign: int) -> NDArray[np.bool_]:
        """(space.cells,): those that some move leads to from one of `cells`; with sign -1, that lead to one of them."""
        reached = np.zeros(self.cells, bool)
        for _, to in self.led_to(cells, moves, sign=sign):
            reached[to] = True
        return reached

    def led_to(self, cells: Ints, moves: Sequence[Move], *, sign: int) -> Iterator[tuple[Ints, Ints]]:
        """For each move: the rows of `cells` that can make it (with sign -1, undo it), and the cells they come to."""
        at = self.positions(cells)
        free = at < np.asarray(self.sizes) - 1 if sign > 0 else at > 0
        for move in moves:
            rows = np.flatnonzero(free[:, move.levers].all(axis=1))
            yield rows, cells[rows] + sign * move.offset
