"""A flat truss of equal triangles, as it is made of sticks: the force in every bar, from equilibrium of the joints."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Truss:
    """`panels` triangles that stand on the bottom chord, and the upside-down ones between them; bars of length 1."""

    joints: Array
    """(joints, 2): the bottom ones from left to right, then the top ones"""
    bars: tuple[tuple[int, int], ...]
    panels: int


@cache
def triangles(panels: int) -> Truss:
    """A truss of 1 to 40 triangles; ValueError otherwise. One panel is a single triangle."""
    if not 1 <= panels <= 40:
        raise ValueError(f"panels must be from 1 to 40, not {panels!r}")
    bottom = [(float(i), 0.0) for i in range(panels + 1)]
    top = [(i + 0.5, 3**0.5 / 2) for i in range(panels)]
    first = panels + 1
    bars = [(i, i + 1) for i in range(panels)]
    bars += [(first + i, first + i + 1) for i in range(panels - 1)]
    bars += [bar for i in range(panels) for bar in ((i, first + i), (first + i, i + 1))]
    return Truss(np.array(bottom + top), tuple(bars), panels)


def bar_forces(truss: Truss, loads: Array) -> Array:
    """Force in every bar, pulled above 0 and pressed below, under loads on the joints (joints, 2) in their unit.

    The left end is pinned, the right end rolls. Derived: two equations of equilibrium at each joint, solved at once.
    """
    count, unknowns = len(truss.joints), len(truss.bars) + 3
    equations = np.zeros((2 * count, unknowns))
    for bar, (a, b) in enumerate(truss.bars):
        way = truss.joints[b] - truss.joints[a]
        way = way / np.hypot(*way)
        equations[2 * a : 2 * a + 2, bar], equations[2 * b : 2 * b + 2, bar] = way, -way
    right = truss.panels
    equations[0, -3] = equations[1, -2] = equations[2 * right + 1, -1] = 1.0
    return np.linalg.solve(equations, -np.asarray(loads, float).reshape(-1))[: len(truss.bars)]


@cache
def forces_of_a_middle_load(panels: int) -> tuple[float, float]:
    """Largest pull and largest press in any bar for a load of 1 at the middle of the bottom chord.

    Between two joints it is shared by them; on a single triangle it is set on the top.
    """
    truss = triangles(panels)
    loads = np.zeros_like(truss.joints)
    if panels == 1:
        loads[2, 1] = -1.0
    else:
        loads[panels // 2, 1] -= 0.5
        loads[(panels + 1) // 2, 1] -= 0.5
    forces = bar_forces(truss, loads)
    return float(forces.max()), float(-forces.min())
