"""What sticks, rolled or folded paper and tape bear [N], well made, over the ranges of material in `constants`.

Every function takes the materials `m` at fixed points of their ranges (`quantiles.material_points`) and gives an array
over them. Lengths in mm. `joints` is the part of their full strength that taped joints have (1 with all the tape a
form needs).
Sources: the formulas are those of `statics`; the sheet hung from its edges and the roll's reduced wrinkling stress are
starting guesses, see `constants`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rungwright.measure import statics
from rungwright.measure.constants import (
    FOLD_PLATE_COEFFICIENT,
    GRAVITY_N_PER_G,
    POUCH_MM,
    ROLL_KNOCKDOWN,
    SHEET_LONG_MM,
    SHEET_MASS_G,
    SHEET_SAG_MM,
    SHEET_SHORT_MM,
    SHEET_SIDES,
    STICK_MASS_G,
    TAPE_WIDTH_MM,
)
from rungwright.measure.quantiles import Points

Array = NDArray[np.float64]

POST_HEIGHT, POST_DIAMETER, JOIST_DIAMETER = 105.0, 20.0, 12.0
FOLD_PITCH, FOLD_DEPTH = 20.0, 10.0
FOLDS_UNDER_THE_WEIGHT, FOLDS_NEAR_AN_EDGE = 8, 5
"""facets that share a weight of the width of `POUCH_MM`; starting guess"""


def stick_column(m: Points, length: float) -> Array:
    """A stick as a column, both ends free to turn: buckling."""
    inertia = statics.rectangle_inertia(width=m["stick_width"], thickness=m["stick_thickness"])
    return statics.euler_load(e=m["stick_e"], inertia=inertia, length=length)


def stick_beam(m: Points, span: float, patch: float = POUCH_MM) -> Array:
    """A flat stick over a span, the weight spread over a patch in the middle: breaking."""
    modulus = statics.rectangle_modulus(width=m["stick_width"], thickness=m["stick_thickness"])
    moment = statics.beam_patch_moment(load=1.0, span=span, patch=patch)
    return m["stick_strength"] / statics.bending_stress(moment=moment, modulus=modulus)


def lap(m: Points, length: float) -> Array:
    """A strip of tape lapped over a length, in shear."""
    return m["tape_lap"] * TAPE_WIDTH_MM * length


def peel(m: Points) -> Array:
    """A strip of tape pulled off across its width."""
    return m["tape_peel"] * TAPE_WIDTH_MM / 10


def hung_sheet(m: Points, span: float, *, strips_a_side: int, joints: float) -> Array:
    """A roof sheet taped at its edges: under the weight it sags and hangs from its strips, which slip or peel."""
    angle = np.arctan(SHEET_SAG_MM / ((span - POUCH_MM) / 2))
    held = np.minimum(lap(m, 15), peel(m) / max(np.sin(angle), 0.35))
    return joints * 2 * strips_a_side * held * np.sin(angle) * SHEET_SIDES


def paper_post(m: Points) -> Array:
    """A half sheet rolled with the sheet's length round it: crushing, wrinkling or buckling."""
    wall, stress = _roll(m, POST_DIAMETER, SHEET_LONG_MM)
    inertia = np.pi * (POST_DIAMETER / 2) ** 3 * wall
    buckles = statics.euler_load(e=m["paper_e"], inertia=inertia, length=POST_HEIGHT)
    return np.minimum(np.pi * POST_DIAMETER * wall * stress, buckles)


def paper_joist(m: Points, span: float) -> Array:
    """A whole sheet rolled, the weight in the middle of the span: kinking.

    Rolled to the short side's length where that reaches over the span, else to the long side's, with fewer turns.
    """
    round_it = SHEET_LONG_MM if span + 2 * POST_DIAMETER <= SHEET_SHORT_MM else SHEET_SHORT_MM
    wall, stress = _roll(m, JOIST_DIAMETER, round_it)
    modulus = np.pi * (JOIST_DIAMETER / 2) ** 2 * wall
    return stress / statics.bending_stress(
        moment=statics.beam_patch_moment(load=1.0, span=span, patch=POUCH_MM), modulus=modulus
    )


def folded_roof(m: Points, span: float, *, layers: int, facets: int) -> Array:
    """A zigzag sheet with its edges tied: the facets buckle, or the folds crush, whichever comes first together."""
    thickness = m["paper_thickness"] * layers
    inertia = statics.folded_plate_inertia(pitch=FOLD_PITCH, depth=FOLD_DEPTH, thickness=thickness, facets=facets)
    facet = np.hypot(FOLD_PITCH / 2, FOLD_DEPTH)
    buckles = FOLD_PLATE_COEFFICIENT * m["paper_e"] * (thickness / facet) ** 2
    # After a facet has buckled its folds go on bearing: effective width, von Karman.
    stress = np.where(buckles < m["paper_crush"], np.sqrt(buckles * m["paper_crush"]), m["paper_crush"])
    moment = statics.beam_patch_moment(load=1.0, span=span, patch=POUCH_MM)
    return stress / statics.bending_stress(moment=moment, modulus=inertia / (FOLD_DEPTH / 2))


def feet_free(m: Points, angle_deg: float) -> Array:
    """Ridge load at which two leaning panels with their feet not tied slide apart; each is three sticks and a sheet."""
    panel = (3 * STICK_MASS_G + SHEET_MASS_G) * GRAVITY_N_PER_G
    return statics.a_frame_ridge_load_at_slip(panel_weight=panel, angle_deg=angle_deg, friction=m["friction"])


def _roll(m: Points, diameter: float, round_it: float) -> tuple[Array, Array]:
    """Wall of a roll [mm] and the stress [MPa] at which it crushes or, turn by turn, wrinkles."""
    wall = round_it / (np.pi * diameter) * m["paper_thickness"]
    wrinkles = ROLL_KNOCKDOWN * statics.wrinkling_stress(e=m["paper_e"], wall=m["paper_thickness"], radius=diameter / 2)
    return wall, np.minimum(m["paper_crush"], wrinkles)
