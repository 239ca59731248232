"""Can the weight rest where it is set, are the spots far enough apart, and do the feet stay?

Sources
[1] Derived: a thing on a slope slides where tan(slope) is over the friction, and tips where it is over base / height.
[2] Common practice: the middles of two spots at least one item's width apart, else there is no second spot. The item is
    set at one spot after another, so nothing has to be free between them.
[3] UNECE CTU Code, appendix 2: static friction, dry; paper on a table from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.measure.statics import above_zero

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Item:
    """What is set on a roof: the width it needs, and how it stands."""

    width_mm: float
    height_mm: float
    drapes: bool
    """lies over a ridge by itself"""


ITEMS = {
    "bag": Item(60, 25, True),
    "can": Item(66, 115, False),
    "bottle": Item(65, 210, False),
}
"""A 370 g bag of rice laid flat, a 355 ml can, a 500 ml bottle: common practice, measure yours."""


def slides_at_deg(*, friction: ArrayLike) -> Array:
    """Slope at which a thing slides [degrees] [1]: the angle of a tilt board. Friction above 0."""
    above_zero(friction=friction)
    return np.degrees(np.arctan(np.asarray(friction, float)))


def friction_of_tilt(*, angle_deg: ArrayLike) -> Array:
    """Friction from the angle at which a thing begins to slide on a tilted board, tan a [1]; 0 to 90 exclusive."""
    a = np.asarray(angle_deg, float)
    if not np.all((a > 0) & (a < 90)):
        raise ValueError(f"angle_deg must lie between 0 and 90, not {angle_deg!r}")
    return np.tan(np.radians(a))


def tips_at_deg(*, width_mm: ArrayLike, height_mm: ArrayLike) -> Array:
    """Slope at which an upright thing tips over [degrees] [1], its centre of mass at half its height."""
    above_zero(width_mm=width_mm, height_mm=height_mm)
    return np.degrees(np.arctan(np.asarray(width_mm, float) / np.asarray(height_mm, float)))


def spots_on_roof(*, width_mm: float, depth_mm: float, item_width_mm: float) -> int:
    """Spots for an item, whole on the roof, their middles at least its width apart [2]. All above 0.

    Counted in rows, and two across the corners where a row has no second; a clever pattern may find one more.
    """
    above_zero(width_mm=width_mm, depth_mm=depth_mm, item_width_mm=item_width_mm)
    if min(width_mm, depth_mm) < item_width_mm:
        return 0
    free = [side - item_width_mm for side in (width_mm, depth_mm)]
    across, along = (int(side // item_width_mm) + 1 for side in free)
    return max(across * along, 2 if np.hypot(*free) >= item_width_mm else 1)
