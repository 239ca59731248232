"""Does a build stay put in the wind? Speeds, and the margin by the reference box.

The fan is moved until a box of a stated face and mass just stays. Friction and fan speed are then the same for box and
build and cancel: what is left is mass over face, and the drag of their shapes.
Sources: drag formulas derived; Beaufort scale of the WMO, as the Met Office prints it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rungwright.domain.readings import Readings
from rungwright.domain.units import Units, length_mm, mass, speed_m_s
from rungwright.measure.columns import Columns
from rungwright.measure.constants import (
    AIR_DENSITY,
    BOX_DRAG,
    BOX_FACE_MM2,
    DRAG_OVER_BOX,
    FIGURE_MASS_G,
    FOIL_MASS_G_PER_CM2,
    GRAVITY_N_PER_G,
    KIT_USED,
    SHEET_MASS_G,
    STICK_MASS_G,
    TAPE_MASS_G_PER_CM,
)
from rungwright.measure.form import HEIGHT_MM
from rungwright.measure.forms import forms, sizes
from rungwright.measure.load import LoadCheck
from rungwright.measure.measured import friction_of
from rungwright.measure.quantiles import combined
from rungwright.measure.statics import above_zero
from rungwright.measure.verdicts import CLEAR, UNCERTAIN, Statement, verdict_of

Array = NDArray[np.float64]

BEAUFORT = (
    (0.3, "calm"),
    (1.6, "light air"),
    (3.4, "light breeze"),
    (5.5, "gentle breeze"),
    (8.0, "moderate breeze"),
    (10.8, "fresh breeze"),
    (13.9, "strong breeze"),
    (17.2, "near gale"),
    (20.8, "gale"),
    (24.5, "strong gale"),
    (28.5, "storm"),
    (32.7, "violent storm"),
    (np.inf, "hurricane"),
)
"""Upper end of each force [m/s], exclusive, and its name."""


def beaufort(speed: float) -> tuple[int, str]:
    """Force 0..12 and its name for a speed [m/s] >= 0; ValueError below."""
    if not speed >= 0:
        raise ValueError(f"speed must be 0 or more, not {speed!r}")
    force = next(i for i, (top, _) in enumerate(BEAUFORT) if speed < top)
    return force, BEAUFORT[force][1]


def wind_words(speed: float) -> str:
    """`a light breeze (force 2)`, in a sentence. ValueError as `beaufort`."""
    force, name = beaufort(speed)
    return f"{name if force <= 1 else f'a {name}'} (force {force})"


def velocity_pressure(*, speed: ArrayLike, height_factor: ArrayLike = 1.0, direction_factor: ArrayLike = 1.0) -> Array:
    """Pressure of moving air [Pa]: rho/2 V^2 [m/s], times Kz and Kd of a building code where they are given.

    Speed 0 or more, factors above 0; ValueError otherwise.
    """
    above_zero(height_factor=height_factor, direction_factor=direction_factor)
    v = np.asarray(speed, float)
    if not np.all(v >= 0):
        raise ValueError(f"speed must be 0 or more, not {speed!r}")
    return AIR_DENSITY / 2 * v**2 * height_factor * direction_factor


def slide_speed(*, mass_g: ArrayLike, friction: ArrayLike, drag: ArrayLike, face_mm2: ArrayLike) -> Array:
    """Wind speed at which a build slides [m/s]: sqrt(mu m g / (rho/2 Cd A)). All above 0; ValueError otherwise."""
    above_zero(mass_g=mass_g, friction=friction, drag=drag, face_mm2=face_mm2)
    force = np.asarray(friction) * np.asarray(mass_g) * GRAVITY_N_PER_G
    return np.sqrt(force / (AIR_DENSITY / 2 * np.asarray(drag) * np.asarray(face_mm2) * 1e-6))


def tip_speed(
    *, mass_g: ArrayLike, base_mm: ArrayLike, push_height_mm: ArrayLike, drag: ArrayLike, face_mm2: ArrayLike
) -> Array:
    """Wind speed at which a build tips over its far edge [m/s]; the push acts at `push_height_mm`. All above 0."""
    above_zero(mass_g=mass_g, base_mm=base_mm, push_height_mm=push_height_mm, drag=drag, face_mm2=face_mm2)
    force = np.asarray(mass_g) * GRAVITY_N_PER_G * np.asarray(base_mm) / (2 * np.asarray(push_height_mm))
    return np.sqrt(force / (AIR_DENSITY / 2 * np.asarray(drag) * np.asarray(face_mm2) * 1e-6))


@dataclass(frozen=True)
class WindCheck:
    """Arrays over n versions; a margin is the wind force that would move the build over the one that moves the box."""

    mass_g: Array
    """of a usual build, figures inside included where they are"""
    face_mm2: Array
    reference_g: Array
    margin_low: Array
    margin_mid: Array
    margin_high: Array
    verdict: NDArray[np.int64]
    slides_first: NDArray[np.bool_]
    """it slides before it tips even on a rough table: friction under base over height"""
    measured: Readings | None
    """the section's own friction and wind tell where the box and the build begin to move"""


def wind_check(cols: Columns, load: LoadCheck, measured: Readings | None = None) -> WindCheck:
    """Every version's build against the reference box, by sliding.

    A build is the part of its kit that groups use (`constants.KIT_USED`), on the face of its form's floor. Where
    some form may hold the weight, a better kit never lowers the margin, as it never moves to a larger face. A stronger
    reference wind always lowers it. What was measured of friction and fan leaves the margin as it is: they are the
    same for box and build.
    """
    kit = (
        cols["rigid_pieces"] * STICK_MASS_G
        + cols["sheets"] * SHEET_MASS_G
        + cols["joiner_length_cm"] * TAPE_MASS_G_PER_CM
        + cols["cover_cm2"] * FOIL_MASS_G_PER_CM2
    )
    figures = np.where(cols.is_one_of("figures_in_wind", "inside"), cols["figure_count"] * FIGURE_MASS_G, 0.0)
    grams = kit * KIT_USED.mid + figures
    face, base = sizes().face_mm2[load.form], sizes().base_mm[load.form]
    box = cols["wind_reference_g"] / BOX_FACE_MM2
    mid = grams / face / box / DRAG_OVER_BOX.mid
    low = combined(mid, KIT_USED.low / KIT_USED.mid, DRAG_OVER_BOX.mid / DRAG_OVER_BOX.high)
    high = combined(mid, KIT_USED.high / KIT_USED.mid, DRAG_OVER_BOX.mid / DRAG_OVER_BOX.low)
    return WindCheck(
        mass_g=grams,
        face_mm2=face,
        reference_g=cols["wind_reference_g"],
        margin_low=low,
        margin_mid=mid,
        margin_high=high,
        verdict=verdict_of(low, high),
        slides_first=friction_of(measured)[1] < base / HEIGHT_MM,
        measured=measured,
    )


def wind_statement(check: WindCheck, load: LoadCheck, i: int, *, units: Units = "metric") -> Statement:
    """Version `i` in one sentence, with the numbers behind it."""
    size = length_mm(forms()[load.form[i]].floor.outer_width, units)
    build, box = mass(float(check.mass_g[i]), units), mass(float(check.reference_g[i]), units)
    if check.verdict[i] == CLEAR:
        text = f"A build of about {build}, {size} wide, stays put better than the {box} box that sets the wind."
    elif check.verdict[i] == UNCERTAIN:
        text = (
            f"A build of about {build}, {size} wide, and the {box} box that sets the wind are a close match; "
            "heavier at the bottom or fixed to the tray helps."
        )
    else:
        text = f"A build of about {build}, {size} wide, is too light for its size where a {box} box sets the wind."
    numbers = {
        "build_g": round(float(check.mass_g[i]), 1),
        "face_cm2": round(float(check.face_mm2[i]) / 100, 1),
        "reference_g": float(check.reference_g[i]),
        "margin_low": round(float(check.margin_low[i]), 2),
        "margin": round(float(check.margin_mid[i]), 2),
        "margin_high": round(float(check.margin_high[i]), 2),
        "slides_first": bool(check.slides_first[i]),
    }
    if check.measured and (check.measured.friction or check.measured.wind_m_s):
        said, own = _by_readings(check.measured, reference_g=float(check.reference_g[i]), units=units)
        text, numbers = f"{text} {said}", {**numbers, **own}
    return Statement(text, numbers)


def _by_readings(readings: Readings, *, reference_g: float, units: Units) -> tuple[str, dict[str, float]]:
    """From which wind the box moves, by the friction there is, and how the wind that was measured compares."""
    friction, box = friction_of(readings), mass(reference_g, units)
    # The extremes of both ranges: a box that turns and a surface that differs are seldom at both ends at once.
    low, high = (
        float(slide_speed(mass_g=reference_g, friction=mu, drag=drag, face_mm2=BOX_FACE_MM2))
        for mu, drag in zip(friction, (BOX_DRAG.high, BOX_DRAG.low), strict=True)
    )
    numbers = {"friction_low": friction[0], "friction_high": friction[1]}
    numbers |= {"box_moves_from_m_s": round(low, 2), "box_moves_by_m_s": round(high, 2)}
    how = "friction you measured" if readings.friction else "usual friction"
    text = f"By the {how} the {box} box begins to move at {speed_m_s(low, high, units)}"
    wind = readings.range_of("wind_m_s")
    if wind is None:
        return f"{text}.", numbers
    numbers |= {"wind_m_s_low": wind[0], "wind_m_s_high": wind[1]}
    text += f", and the wind you measured is {speed_m_s(*wind, units)}: "
    if wind[0] > high:
        return f"{text}move the fan back until the box just stays.", numbers
    if wind[1] < low:
        return f"{text}move the fan nearer, or set the wind by a lighter box.", numbers
    return f"{text}set the fan with the box, near where you measured.", numbers
