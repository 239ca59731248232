"""Calibrate in a minute: what was measured in the classroom, turned into the value that the checks use."""

from __future__ import annotations

import numpy as np

from rungwright.checks import fields
from rungwright.checks.fields import USUAL_FRICTION
from rungwright.checks.quantities import LENGTH, MASS, SPEED, VOLUME
from rungwright.checks.result import Amount, InputError, Outcome, Use, amount
from rungwright.domain.units import Units
from rungwright.measure.constants import BOX_DRAG, BOX_FACE_MM2, MATERIAL, STICK_LENGTH_MM, Quantity
from rungwright.measure.quantiles import spread_over
from rungwright.measure.rest import friction_of_tilt
from rungwright.measure.wind import slide_speed, wind_words

Angle = fields.angle(1, 70, "tilt at which it begins to slide; a range of several tries", ranged=True)
Sprayed = fields.mass(0.5, 2000, "what the sprayer lost, or a cup gained, by the strokes")
Strokes = fields.count(5, 200, "strokes")
ScaleStep = fields.mass(0.01, 10, "smallest step of the scale")
Reading = fields.speed(0.1, 20, "reading where the build stands; a range of several", ranged=True)
BoxMass = fields.mass(1, 1000, "mass of the box of 150 x 110 mm that just stays")
BoxFriction = fields.plain_range(0.02, 1.5, "friction of the box on the table")
Stack = fields.length(1, 500, "height of a stack, pressed together")
Count = fields.count(1, 200, "sticks in the stack")
Sheets = fields.count(10, 1000, "sheets in the stack")
RulerStep = fields.length(0.01, 5, "how finely the ruler or gauge reads")
Scale = fields.mass(1, 20_000, "mass on the scale")
Contents = fields.volume(1, 5000, "what the label says is inside")
Empty = fields.mass(0, 2000, "mass when empty")
Dense = fields.density(500, 3000, "density of what is inside")


def friction(*, angle: Angle, units: Units = "both") -> Outcome:
    """tan of the tilt [degrees]. Source: `measure.rest` [1]."""
    mu = friction_of_tilt(angle_deg=np.array([angle.low, angle.mid, angle.high]))
    value = amount("friction", "friction", mu, "")
    said = _plain(value.low, value.high)
    return Outcome(
        text=f"Its friction on this board is {said}. Tilt slowly, three times, on the paper or tray of the test.",
        value=value,
        use=[Use(check=c, input="friction", value=said) for c in ("wind", "rest", "load")],
        keep=_kept("friction", value),
        not_covered=["Damp: a wet tray or foot is another surface."],
        sources=[("own_arithmetic", "it slides where tan(tilt) reaches the friction", "derived")],
    )


def sprayer(*, mass: Sprayed, strokes: Strokes = 20, scale_step: ScaleStep = 1.0, units: Units = "both") -> Outcome:
    """Millilitres of one stroke: grams over strokes. Parameters [g]. Source: method of ASTM D4336, from memory."""
    one = np.array([max(mass - scale_step, 0.01), mass, mass + scale_step]) / strokes
    value = amount("stroke", "water in one stroke", one, VOLUME, units)
    return Outcome(
        text=f"One stroke gives {value.text}, as far as this scale can tell. Each sprayer has its own.",
        value=value,
        use=[Use(check="rain", input="stroke", value=f"{value.low:.3g} to {value.high:.3g} ml")],
        keep=_kept("stroke_ml", value),
        not_covered=["Half strokes of small hands, which give less."],
        sources=[("sprayer_method", "weigh a number of full strokes", "from_memory")],
    )


def fan(
    *,
    reading: Reading | None = None,
    box_mass: BoxMass | None = None,
    box_friction: BoxFriction = USUAL_FRICTION,
    units: Units = "both",
) -> Outcome:
    """Speed [m/s] of the wind where the build stands, from an anemometer or from the box that just stays.

    Raises InputError unless exactly one of them is given. Sources: `measure.wind`.
    """
    if (reading is None) == (box_mass is None):
        raise InputError("reading", "give either readings of an anemometer or the mass of the box that just stays")
    if reading is not None:
        speeds = np.array([reading.low, reading.mid, reading.high])
        how = ("own_arithmetic", "readings as they are", "derived")
    else:
        at = spread_over(
            {
                "friction": Quantity(*box_friction, "-", "given", "measured"),
                "drag": BOX_DRAG,
            }
        )
        speeds = slide_speed(mass_g=box_mass, friction=at["friction"], drag=at["drag"], face_mm2=BOX_FACE_MM2)
        how = ("own_arithmetic", "speed at which the box slides, its drag 1.0 to 1.3", "derived")
    value = amount("speed", "speed of the wind", speeds, SPEED, units)
    return Outcome(
        text=f"The wind there is {value.text}, outdoors about {wind_words(value.value)}.",
        value=value,
        use=[Use(check="wind", input="speed", value=f"{value.low:.3g} to {value.high:.3g} m/s")],
        keep=_kept("wind_m_s", value),
        not_covered=["Wind that differs over the width of the build: read at both edges too."],
        sources=[how, ("wmo_beaufort", "names of the winds", "found")],
    )


def stick(*, stack: Stack, count: Count = 10, ruler_step: RulerStep = 1.0, units: Units = "both") -> Outcome:
    """Thickness [mm] of one stick from a stack of them. Buckling follows its cube, breaking its square."""
    one = _one_of(stack, count, ruler_step)
    if one[0] < 0.5 or one[2] > 6:
        raise InputError("stack", "gives sticks that are not from 0.5 to 6 mm thick; count them again")
    value = amount("thickness", "thickness of one stick", one, LENGTH, units)
    usual = MATERIAL["stick_thickness"].high
    buckles = amount("buckles", "buckling load over that of a 2 mm stick", (one / usual) ** 3, "")
    breaks = amount("breaks", "breaking load over that of a 2 mm stick", (one / usual) ** 2, "")
    return Outcome(
        text=f"One stick is {value.text} thick: it breaks at {breaks.text} and buckles at {buckles.text} times what a "
        f"2 mm stick of {STICK_LENGTH_MM:g} mm bears.",
        value=value,
        amounts=[buckles, breaks],
        use=[Use(check="load", input="stick_thickness", value=f"{value.low:.3g} to {value.high:.3g} mm")],
        keep=_kept("stick_thickness_mm", value),
        sources=[
            ("own_arithmetic", "bending goes with the square of the thickness, buckling with the cube", "derived")
        ],
    )


def paper(*, stack: Stack, count: Sheets = 100, ruler_step: RulerStep = 1.0, units: Units = "both") -> Outcome:
    """Thickness [mm] of one sheet from a stack of them. Folds buckle by its square, a roll bears by its walls."""
    one = _one_of(stack, count, ruler_step)
    if one[0] < 0.03 or one[2] > 0.5:
        raise InputError("stack", "gives sheets that are not from 0.03 to 0.5 mm thick; count them again")
    value = amount("thickness", "thickness of one sheet", one, LENGTH, units)
    return Outcome(
        text=f"One sheet is {value.text} thick; copy paper of 80 g/m² is about 0.1 mm. Press the stack flat.",
        value=value,
        use=[Use(check="load", input="paper_thickness", value=f"{value.low:.3g} to {value.high:.3g} mm")],
        keep=_kept("paper_thickness_mm", value),
        sources=[
            ("own_arithmetic", "the height of a stack over its sheets", "derived"),
            ("paper_data_sheet", "copy paper of 80 g/m², about 0.10 mm", "found"),
        ],
    )


def weight(
    *,
    scale: Scale | None = None,
    contents: Contents | None = None,
    empty: Empty = 0.0,
    density: Dense = 1000.0,
    units: Units = "both",
) -> Outcome:
    """Mass [g] of the test weight: read on a scale, or what a label says [ml] at a density [kg/m3] and the empty mass.

    Raises InputError unless exactly one of scale and contents is given.
    """
    if (scale is None) == (contents is None):
        raise InputError("scale", "give either the mass on a scale or what the label says is inside")
    grams = scale if scale is not None else contents * density / 1000 + empty
    value = amount("mass", "mass of the weight", grams, MASS, units)
    return Outcome(
        text=f"The weight is {value.text}. Use the same one for every build.",
        value=value,
        use=[Use(check=c, input="mass", value=f"{value.value:.4g} g") for c in ("load", "snow", "rest")],
        keep={"weight_g": float(f"{value.value:.4g}")},
        not_covered=[] if scale is not None else ["Packages are filled a little over or under their label."],
        sources=[
            ("own_arithmetic", "1 ml of water is 1 g", "derived"),
            ("craft_stick_listings", "empty 355 ml can 13 to 15 g, empty 500 ml bottle 9 to 10 g", "found"),
        ],
    )


def _one_of(stack: float, count: int, ruler_step: float) -> np.ndarray:
    """One of a stack [mm]: low, middle, high, as far as the ruler can tell."""
    return np.array([max(stack - ruler_step / 2, 0.01), stack, stack + ruler_step / 2]) / count


def _kept(name: str, value: Amount) -> dict[str, list[float]]:
    """As a field of `domain.readings.Readings`."""
    ends = [float(f"{end:.3g}") for end in (value.low, value.high)]
    return {name: sorted(set(ends))}


def _plain(low: float, high: float) -> str:
    return f"{low:.2f}" if f"{low:.2f}" == f"{high:.2f}" else f"{low:.2f} to {high:.2f}"
