"""Room for the figures inside the form, their scale, and how far one can be tilted.

Sources: CDC stature-for-age, medians; geometry derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.units import Units, length_mm
from rungwright.measure.columns import Columns
from rungwright.measure.constants import STATURE_MM
from rungwright.measure.forms import forms
from rungwright.measure.load import LoadCheck
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN, Statement

STANDS_TO_DEG = 15.0  # a given foot keeps a figure up to this tilt: agreed here


@dataclass(frozen=True)
class RoomCheck:
    """Arrays over n versions."""

    form: NDArray[np.int64]
    wanted: NDArray[np.int64]
    fits: NDArray[np.int64]
    verdict: NDArray[np.int64]
    """not feasible where no form that the kit makes holds the figures with their room; uncertain where a floor that
    comes out a little small (`constants.FLOOR_SHRINKS`) would not"""

    @property
    def spare(self) -> NDArray[np.int64]:
        """Figures that fit beyond those asked; negative where it is too small."""
        return self.fits - self.wanted


def room_check(cols: Columns, load: LoadCheck) -> RoomCheck:
    """Room in the form that the load check chose."""
    wanted = np.ceil(cols["figure_count"]).astype(np.int64)
    verdict = np.where(load.holds_figures, np.where(load.fits_if_small >= wanted, CLEAR, UNCERTAIN), NOT_FEASIBLE)
    return RoomCheck(load.form, wanted, load.fits, verdict)


def room_statement(check: RoomCheck, load: LoadCheck, i: int, *, units: Units = "metric") -> Statement:
    """Version `i` in one sentence, with the numbers behind it."""
    form, fits, wanted = forms()[check.form[i]], int(check.fits[i]), int(check.wanted[i])
    floor = f"{length_mm(form.width, units)} by {length_mm(form.depth, units)}"
    numbers = {
        "fits": fits,
        "wanted": wanted,
        "floor_width_mm": form.width,
        "floor_depth_mm": form.depth,
        "headroom_mm": form.headroom,
    }
    figures = "1 figure" if fits == 1 else f"{fits} figures"
    if not load.can_be_made[i]:
        text = "This kit makes none of the forms that are computed here, so there is no room to speak of."
    elif check.verdict[i] == CLEAR:
        text = f"A floor of {floor} holds {figures} with the room asked for, and {wanted} must fit."
    elif check.verdict[i] == UNCERTAIN:
        small = int(load.fits_if_small[i])
        text = (
            f"A floor of {floor} holds {figures} with the room asked for, and {wanted} must fit; built a little "
            f"smaller, it holds {small or 'none'}."
        )
    else:
        text = f"No build of this kit has room for {wanted}; the largest, with a floor of {floor}, holds {figures}."
    return Statement(text, numbers)


def scale_of(*, figure_height_mm: float, age_years: float) -> float:
    """How many times larger a person of this age is (median of boys and girls); ages 3 to 20.

    Linear between birthdays. ValueError outside, or for a height of 0 or less.
    """
    ages = sorted(STATURE_MM)
    if not (figure_height_mm > 0 and ages[0] <= age_years <= ages[-1]):
        raise ValueError(f"figure_height_mm must be above 0 and age_years from {ages[0]:g} to {ages[-1]:g}")
    return float(np.interp(age_years, ages, [STATURE_MM[a] for a in ages])) / figure_height_mm


def tilt_to_tip_deg(*, base_mm: float, centre_of_mass_mm: float) -> float:
    """Angle at which a standing figure tips: tan a = (base / 2) / height of the centre of mass. Both above 0."""
    if not (base_mm > 0 and centre_of_mass_mm > 0):
        raise ValueError("base_mm and centre_of_mass_mm must be above 0")
    return math.degrees(math.atan(base_mm / 2 / centre_of_mass_mm))


def foot_mm(*, figure_height_mm: float, stands_to_deg: float = STANDS_TO_DEG) -> float:
    """Depth of a folded foot, in whole even millimetres, on which a figure of even card stands to a tilt.

    The turned-round formula of `tilt_to_tip_deg`, the centre of mass at half the height; both numbers above 0, the tilt
    under 90 degrees.
    """
    if not (figure_height_mm > 0 and 0 < stands_to_deg < 90):
        raise ValueError("figure_height_mm must be above 0 and stands_to_deg between 0 and 90")
    return 2.0 * math.ceil(figure_height_mm / 2 * math.tan(math.radians(stands_to_deg)) - 1e-9)
