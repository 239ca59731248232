"""How many figures a form's floor holds: geometry only.

Figures stand on own squares, floor(W / side) x floor(D / side), where the roof is high enough all over; or lie side by
side, turned the better way (derived). Where lying is enough, standing on 50 mm squares is too.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from rungwright.measure.constants import FLOOR_SHRINKS, LYING_MM
from rungwright.measure.form import Form
from rungwright.measure.forms import forms

SQUARES_MM = {"own_50mm": 50.0, "own_70mm": 70.0, "own_100mm": 100.0}


def on_a_grid(*, width_mm: float, depth_mm: float, across_mm: float, along_mm: float, gap_mm: float = 0.0) -> int:
    """Figures of a size that fit on a floor in rows: floor(W/(w+g)) x floor(D/(d+g)). ValueError for a size of 0."""
    if not (width_mm > 0 and depth_mm > 0 and across_mm > 0 and along_mm > 0 and gap_mm >= 0):
        raise ValueError("sizes must be above 0 and the gap 0 or more")
    return int(width_mm // (across_mm + gap_mm)) * int(depth_mm // (along_mm + gap_mm))


def figures_in(form: Form, room: str, *, figure_height_mm: float, shrink: float = 0.0) -> int:
    """Figures that fit in a form with the room each must have; its floor may come out a part smaller each way.

    The roof must clear one figure's height even where figures lie (under the ridge of a pointed form). ValueError for
    a height of 0 or less.
    """
    if not figure_height_mm > 0:
        raise ValueError(f"figure_height_mm must be above 0, not {figure_height_mm!r}")
    if form.headroom < figure_height_mm:
        return 0
    width, depth = form.width * (1 - shrink), form.depth * (1 - shrink)
    return max(
        (
            on_a_grid(width_mm=width, depth_mm=depth, across_mm=across, along_mm=along)
            for across, along in _room_of_one(form, room, figure_height_mm)
        ),
        default=0,
    )


def _room_of_one(form: Form, room: str, figure_height_mm: float) -> list[tuple[float, float]]:
    """Across and along the floor [mm]: each way in which a figure may have its room."""
    standing = SQUARES_MM.get(room, SQUARES_MM["own_50mm"])
    upright = [(standing, standing)] if form.flat_roof else []
    if room in SQUARES_MM:
        return upright
    long, wide = max(LYING_MM[0], figure_height_mm), LYING_MM[1]
    return [(long, wide), (wide, long), *upright]


def places_in(form: Form, room: str, *, figure_height_mm: float, count: int) -> list[tuple[float, float, float, float]]:
    """Middle of each figure's room from the floor's middle, across and along, and its sizes [mm].

    Rows from the back to the front, the first way that holds `count`, else the one that holds most; as many as fit.
    """
    if form.headroom < figure_height_mm:
        return []
    most: list[tuple[float, float, float, float]] = []
    for across, along in _room_of_one(form, room, figure_height_mm):
        columns, rows = int(form.width // across), int(form.depth // along)
        x = [(i + 0.5) * form.width / columns - form.width / 2 for i in range(columns)]
        y = [form.depth / 2 - (i + 0.5) * form.depth / rows for i in range(rows)]
        places = [(at, row, across, along) for row in y for at in x][:count]
        if len(places) > len(most):
            most = places
    return most


@cache
def fits_in(rooms: tuple[str, ...], figure_height_mm: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(rooms, forms): figures that fit, and that fit if the floor comes out small."""
    return tuple(
        np.array(
            [[figures_in(f, room, figure_height_mm=figure_height_mm, shrink=s) for f in forms()] for room in rooms]
        )
        for s in (0.0, FLOOR_SHRINKS)
    )
