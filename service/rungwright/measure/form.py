"""A form of the refuge: its dimensions, what it needs and what it bears.

Capacities are of an ideally made build, over the ranges of material in `constants`, and name what fails first. They
depend on nothing but the form, so each is worked out once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray

from rungwright.measure.constants import (
    GRAVITY_N_PER_G,
    LEAST_JOINT_SHARE,
    OVERLAP,
    SHEET_MASS_G,
    STICK_LENGTH_MM,
    STICK_MASS_G,
    TAPE_MASS_G_PER_CM,
)
from rungwright.measure.quantiles import POINTS, Materials, Points, low_mid_high, material_points

Array = NDArray[np.float64]
Modes = Mapping[str, Array]
"""What each way of failing bears [N]."""
Strengths = Callable[[Points, Array | float], tuple[Modes, Modes]]
"""Materials and strength of the taped joints (0..1; a column of them for several at once) to the modes, with the weight
at the centre and at the worst place off it."""

TAPE_SHARES = np.linspace(LEAST_JOINT_SHARE, 1.0, 8)
"""Tape there over tape needed, at which capacities are tabulated."""

WALL_MM = 4.0
HEIGHT_MM = 112.0
LEAST_G = 1e-3
"""Nothing at all, for logarithms."""


@dataclass(frozen=True)
class Floor:
    """Inside floor [mm] of an upright build; every form on it has this outline."""

    width: float
    depth: float

    @property
    def outer_width(self) -> float:
        return self.width + 2 * WALL_MM

    @property
    def outer_depth(self) -> float:
        return self.depth + 2 * WALL_MM

    @property
    def face_mm2(self) -> float:
        """The larger upright face. A sloping build on it catches less wind: that is left as reserve."""
        return max(self.outer_width, self.outer_depth) * HEIGHT_MM


SMALL, WIDE, LONG, LARGE = Floor(110, 110), Floor(150, 150), Floor(150, 210), Floor(210, 210)
TWO_BAYS = Floor(110, 210)
"""Two sticks that overlap by 10 mm."""
FLOORS = (SMALL, WIDE, LONG, LARGE, TWO_BAYS)
"""By face, the smallest first. All but the small one and the two bays need paper to span: a stick is too short."""


@dataclass(frozen=True)
class Form:
    """Geometry and needs of one form; sizes in mm."""

    id: str
    label: str
    kind: str
    """leaning, stick_frame, rolled_posts, poles, arch or box"""
    roof: str
    """ridge, point or arch; or flat, folded, rolls, sticks: what the flat roof is made of"""
    floor: Floor
    rigid: int
    sheets: int
    tape_cm: float
    headroom: float
    """under the roof; under the ridge where that is pointed"""
    strengths: Strengths
    legs: int
    """posts, leaning sticks or poles"""
    across: int = 0
    """sticks or rolls across the roof"""

    @property
    def flat_roof(self) -> bool:
        return self.roof not in ("ridge", "point", "arch")

    @property
    def paper_carries(self) -> bool:
        return self.kind in ("rolled_posts", "arch", "box")

    @property
    def height(self) -> float:
        """Outside."""
        return HEIGHT_MM if self.flat_roof else self.headroom + WALL_MM

    @property
    def width(self) -> float:
        return self.floor.width

    @property
    def depth(self) -> float:
        return self.floor.depth

    @property
    def mass_g(self) -> float:
        """Of the pieces it needs, without cover."""
        return self.rigid * STICK_MASS_G + self.sheets * SHEET_MASS_G + self.tape_cm * TAPE_MASS_G_PER_CM

    @property
    def roof_area_cm2(self) -> float:
        """Developed, overlap included."""
        across, depth = self.floor.outer_width, self.floor.outer_depth
        if self.roof == "ridge":
            across = 2 * STICK_LENGTH_MM
        elif self.roof == "arch":
            across = math.pi / 2 * self.floor.outer_width
        elif self.roof == "point":
            # The side of a cone on the circle round the floor.
            return math.pi * self.floor.width / math.sqrt(2) * STICK_LENGTH_MM / 100 * OVERLAP
        return across * depth / 100 * OVERLAP


@dataclass(frozen=True)
class Capacity:
    """Of one form: `grams` (tape shares, centre/off, 5 % / 50 % / 95 %) and what fails first there, by the medians."""

    grams: Array
    modes: tuple[tuple[str, str], ...]

    def at(self, tape_share: float, *, off_centre: bool) -> Array:
        """Grams (5 %, 50 %, 95 %) at a share of the tape that it needs; linear between the tabulated shares."""
        place = _place(tape_share)
        below = min(int(place), len(TAPE_SHARES) - 2)
        low, high = self.grams[below : below + 2, int(off_centre)]
        return low + (place - below) * (high - low)

    def fails_first(self, tape_share: float, *, off_centre: bool) -> str:
        """The mode at the tabulated tape share nearest to this one."""
        return self.modes[math.ceil(_place(tape_share) - 0.5)][int(off_centre)]


def _place(tape_share: float) -> float:
    """Where a share lies among `TAPE_SHARES`, 0 the first; shares beyond them are taken as the nearest."""
    share = min(max(tape_share, LEAST_JOINT_SHARE), 1.0)
    return (share - LEAST_JOINT_SHARE) / (1.0 - LEAST_JOINT_SHARE) * (len(TAPE_SHARES) - 1)


@lru_cache(maxsize=2048)
def capacity(form: Form, measured: Materials = ()) -> Capacity:
    """Over the ranges of the materials: the usual ones, and where something was measured, that."""
    # Every tape share at once: modes are (points,) or, where joints count, (tape shares, points).
    both = form.strengths(material_points(measured), TAPE_SHARES[:, None])
    grams, first = np.empty((len(TAPE_SHARES), 2, 3)), []
    for position, modes in enumerate(both):
        least = np.broadcast_to(reduce(np.minimum, modes.values()), (len(TAPE_SHARES), POINTS))
        grams[:, position] = np.maximum(low_mid_high(least.T) / GRAVITY_N_PER_G, LEAST_G)
        medians = [np.broadcast_to(np.median(bears, axis=-1), len(TAPE_SHARES)) for bears in modes.values()]
        names = list(modes)
        first.append([names[i] for i in np.argmin(medians, axis=0)])
    return Capacity(grams, tuple(zip(*first, strict=True)))
