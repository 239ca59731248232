"""Reference forms of a ferry: a deck of sticks, a deck on sealed straws, a hull folded of a waterproof sheet.

What they carry is buoyancy less their own mass: derived (Archimedes). How well straws are sealed is a starting guess.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rungwright.measure.afloat import MM3_PER_G
from rungwright.measure.constants import (
    FOIL_MASS_G_PER_CM2,
    STICK_LENGTH_MM,
    STRAW_DIAMETER_MM,
    STRAW_LENGTH_MM,
    STRAW_MASS_G,
    TAPE_MASS_G_PER_CM,
)

STICK_DENSITY = (0.55, 0.61, 0.69)
"""g/cm3 of birch: Wood Handbook, second hand; lightest, usual, heaviest"""
SEALED = (0.7, 0.9, 1.0)
"""part of a straw that stays full of air"""
HULL_SIDE_MM = 30.0
HULL_FREEBOARD_MM = 8.0
"""that a hull must keep, for a moving load; common practice"""
SIZE = (0.93, 1.0, 1.03)
"""a folded hull over the size it was drawn"""


@dataclass(frozen=True)
class Raft:
    id: str
    label: str
    sticks: int
    straws: int
    tape_cm: float
    cover_cm2: float
    bears_g: tuple[float, float, float]
    """cargo: least, usual, most"""
    fails_first: str
    length_mm: float
    width_mm: float


def rafts(*, sticks: int, straws: int, cover_cm2: float) -> tuple[Raft, ...]:
    """The forms that use a kit up; those for which it has nothing are left out. Amounts of 0 or more."""
    forms = []
    if sticks >= 4:
        forms.append(_sticks(sticks))
    if straws >= 4:
        forms.append(_straws(straws))
    if cover_cm2 >= (4 * HULL_SIDE_MM) ** 2 / 100:
        forms.append(_hull(cover_cm2))
    return tuple(forms)


def _sticks(count: int) -> Raft:
    volume = STICK_LENGTH_MM * 10 * 2 / MM3_PER_G
    tape = 10.0 + 2 * count
    own_tape = tape * TAPE_MASS_G_PER_CM
    bears = tuple(max(count * volume * (1 - d) - own_tape, 0.0) for d in reversed(STICK_DENSITY))
    # Two crossed layers, side by side.
    return Raft(
        "raft_sticks", f"flat deck of {count} sticks in two crossed layers", count, 0, tape, 0, bears,
        "the deck goes under", STICK_LENGTH_MM, min(count / 2 * 10, STICK_LENGTH_MM),
    )  # fmt: skip


def _straws(count: int) -> Raft:
    volume = np.pi / 4 * STRAW_DIAMETER_MM**2 * STRAW_LENGTH_MM / MM3_PER_G
    tape = 20.0 + 4 * count
    own = count * STRAW_MASS_G + tape * TAPE_MASS_G_PER_CM
    bears = tuple(float(max(count * volume * share - own, 0.0)) for share in SEALED)
    return Raft(
        "raft_straws", f"flat deck of {count} straws with taped ends", 0, count, tape, 0, bears,
        "water comes into the straws", STRAW_LENGTH_MM, count * STRAW_DIAMETER_MM,
    )  # fmt: skip


def _hull(cover_cm2: float) -> Raft:
    side = (cover_cm2 * 100) ** 0.5 - 2 * HULL_SIDE_MM
    own = cover_cm2 * FOIL_MASS_G_PER_CM2
    under = HULL_SIDE_MM - HULL_FREEBOARD_MM
    bears = tuple(max((side * s) ** 2 * under * s / MM3_PER_G - own, 0.0) for s in SIZE)
    return Raft(
        "hull", f"open hull folded of {cover_cm2:.0f} cm² of waterproof sheet, sides {HULL_SIDE_MM:.0f} mm", 0, 0, 20.0,
        cover_cm2, bears, "water comes over the side", side, side,
    )  # fmt: skip
