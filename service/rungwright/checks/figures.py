"""How many figures fit, whether they can go in and stand, and what scale they are."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from rungwright.checks import fields
from rungwright.checks.quantities import ANGLE, AREA, LENGTH, SPEED, shown
from rungwright.checks.result import Outcome, amount
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure.constants import CLEARANCE_MM, FIGURE_MASS_G, FLOOR_SHRINKS, LYING_MM
from rungwright.measure.figures import scale_of, tilt_to_tip_deg
from rungwright.measure.room import on_a_grid
from rungwright.measure.wind import tip_speed

Figures = fields.count(1, 200, "figures that must fit")
Width = fields.length(10, 3000, "width of the floor inside; under a ridge, across it")
Depth = fields.length(10, 3000, "depth of the floor inside")
Headroom = fields.length(5, 2000, "height inside; under the ridge of a pointed roof")
Roof = fields.choice(Literal["flat", "ridge"], "shape of the roof")
Room = fields.choice(Literal["lying", "square"], "room for each figure: a place to lie, or a square of its own")
Square = fields.length(5, 500, "side of the square of each standing figure, gap included")
Height = fields.length(10, 500, "height of a figure")
Base = fields.length(2, 300, "width of the base that a figure stands on")
Thick = fields.length(0.1, 300, "width of a figure, for the way in")
Weight = fields.mass(0.1, 1000, "mass of a figure")
EntryWidth = fields.length(2, 1000, "width of the way in")
EntryHeight = fields.length(2, 1000, "height of the way in")
Age = fields.number(3, 20, "age in years of the person that a figure stands for")

CARD_DRAG = 1.2
SPHERE_FLOOR_M2, SPHERE_CEILING_MM = 3.5, 2000.0


def check(
    *,
    figures: Figures,
    width: Width,
    depth: Depth,
    headroom: Headroom,
    roof: Roof = "flat",
    room: Room = "square",
    square: Square = 50.0,
    figure_height: Height = 75.0,
    figure_base: Base = 30.0,
    figure_width: Thick = 30.0,
    figure_mass: Weight = FIGURE_MASS_G,
    entry_width: EntryWidth | None = None,
    entry_height: EntryHeight | None = None,
    age: Age = 10.0,
    units: Units = "both",
) -> Outcome:
    """Figures on the floor, entry, tilt at which one tips, scale by stature, and floor for each at that scale.

    Parameters: lengths [mm], `figure_mass` [g], `age` [years]. Sources: `measure.figures`, `measure.room`; Sphere
    Handbook, covered floor of 3.5 m2 a person and a ceiling of 2 m.
    """
    fits, small = (
        _fits(width * s, depth * s, headroom, roof, room, square, figure_height) for s in (1.0, 1 - FLOOR_SHRINKS)
    )
    goes_in = _goes_in(entry_width, entry_height, figure_width, figure_height)
    verdict = Verdict.CLEAR if small >= figures else Verdict.UNCERTAIN if fits >= figures else Verdict.NOT_FEASIBLE
    if goes_in is False:
        verdict = Verdict.NOT_FEASIBLE
    scale = scale_of(figure_height_mm=figure_height, age_years=age)
    floor_each = SPHERE_FLOOR_M2 * 1e6 / scale**2
    tilt = tilt_to_tip_deg(base_mm=figure_base, centre_of_mass_mm=figure_height / 2)
    tips = tip_speed(
        mass_g=figure_mass, base_mm=figure_base, push_height_mm=figure_height / 2, drag=CARD_DRAG,
        face_mm2=figure_width * figure_height,
    )  # fmt: skip
    value = amount("fits", "figures that fit", np.array([small, fits, fits], float), "figures")
    amounts = [
        amount("tilt", "tilt at which a standing figure tips", tilt, ANGLE, units),
        amount("tips", "wind at which a standing figure tips", float(tips), SPEED, units),
        amount("scale", "stature of the person over a figure's height", scale, ""),
        amount(
            "floor_each",
            "floor a person has by the humanitarian standard, at this scale",
            floor_each / 100,
            AREA,
            units,
        ),
        amount("ceiling", "ceiling of 2 m at this scale", SPHERE_CEILING_MM / scale, LENGTH, units),
        amount("floor_share", "floor for each here over that", width * depth / figures / floor_each, ""),
    ]
    return Outcome(
        verdict=verdict,
        text=_sentence(fits, small, figures, headroom < figure_height, goes_in, scale, age),
        value=value,
        amounts=amounts,
        mend=_mend(verdict, fits, figures, goes_in, figure_width, figure_height, units),
        not_covered=[
            "Figures that lean on each other or on a wall, and posts that stand inside the floor.",
            "A figure is taken to be even all over: weight in its base makes it steadier.",
        ],
        sources=[
            ("own_arithmetic", "figures in rows; under a ridge only where the roof is high enough; tilt", "derived"),
            ("cdc_growth", "median stature at each age, boys and girls", "found"),
            ("sphere_handbook", "3.5 m² of covered floor a person, ceiling of at least 2 m", "found"),
            (
                "common_practice",
                "5 mm beside and above a figure that goes in; a place to lie of 75 x 30 mm",
                "common_practice",
            ),
        ],
    )


def _fits(width: float, depth: float, headroom: float, roof: str, room: str, square: float, height: float) -> int:
    if headroom < height:
        return 0
    if room == "lying":
        long, wide = max(LYING_MM[0], height), LYING_MM[1]
        return max(
            on_a_grid(width_mm=width, depth_mm=depth, across_mm=long, along_mm=wide),
            on_a_grid(width_mm=width, depth_mm=depth, across_mm=wide, along_mm=long),
        )
    # Under a straight slope only the middle of the floor is as high as a figure.
    standing = width * (1 - height / headroom) if roof == "ridge" else width
    if standing <= 0:
        return 0
    return on_a_grid(width_mm=standing, depth_mm=depth, across_mm=square, along_mm=square)


def _goes_in(entry_width: float | None, entry_height: float | None, width: float, height: float) -> bool | None:
    """A figure may go in lying on its side where the way in is wide rather than high; None where it was not told."""
    if entry_width is None and entry_height is None:
        return None
    across, up = (math.inf if side is None else side for side in (entry_width, entry_height))
    w, h = width + CLEARANCE_MM, height + CLEARANCE_MM
    return (across >= w and up >= h) or (across >= h and up >= w)


def _sentence(fits: int, small: int, figures: int, low: bool, goes_in: bool | None, scale: float, age: float) -> str:
    count = {0: "No figures", 1: "1 figure"}.get(fits, f"{fits} figures")
    if low:
        text = "The roof is lower than a figure, so none fits."
    elif fits >= figures > small:
        text = f"{count} fit, only just: on a floor that comes out a little small, {small}. {figures} must fit."
    else:
        text = f"{count} {'fits' if fits == 1 else 'fit'} with the room asked for, and {figures} must fit."
    if goes_in is False:
        text += " A figure does not go through the way in."
    return text + f" A person of {age:g} would be about {scale:.0f} times as tall as a figure."


def _mend(
    verdict: Verdict, fits: int, figures: int, goes_in: bool | None, width: float, height: float, units: Units
) -> list[str]:
    if verdict == Verdict.CLEAR:
        return []
    mend = ["Fewer figures, a larger floor, or less room for each."] if fits <= figures else []
    if goes_in is False:
        across, up = (shown(side + CLEARANCE_MM, LENGTH, units) for side in (width, height))
        mend.append(f"A way in of {across} by {up}.")
    return mend
