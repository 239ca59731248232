"""Does a build stay put in the wind, from every side?"""

from __future__ import annotations

import math

import numpy as np

from rungwright.checks import fields
from rungwright.checks.fields import USUAL_FRICTION
from rungwright.checks.quantities import FORCE, MASS, PRESSURE, SPEED, Range, shown
from rungwright.checks.result import Outcome, amount, verdict_for
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure.constants import GRAVITY_N_PER_G, MATERIAL, TAPE_WIDTH_MM, Quantity
from rungwright.measure.quantiles import spread_over
from rungwright.measure.wind import slide_speed, tip_speed, velocity_pressure, wind_words

Weight = fields.mass(1, 20_000, "mass of the build, with what is inside")
Width = fields.length(20, 2000, "width of its foot")
Depth = fields.length(20, 2000, "depth of its foot")
Height = fields.length(5, 2000, "height")
Speed = fields.speed(0.1, 20, "speed of the wind", ranged=True)
Friction = fields.plain_range(0.02, 1.5, "friction of its foot on the table or tray")
Drag = fields.plain_range(0.1, 3, "drag of its shape, face-on")

FAN = Range(1.5, 5.0)
"""a small fan at the person, and a household fan just in front"""
BLUNT = Range(1.0, 1.6)
"""cube 1.05, plate 1.28, prism 1.3 with .3 about it"""
CORNER = 0.8 / 1.05
"""drag of a cube edge-on over face-on, each over the area that the wind sees"""
STRIP_MM = 20.0
HEAVIEST_G = 2000.0
"""beyond this more mass is no advice for a small build; agreed here"""


def check(
    *,
    mass: Weight,
    width: Width,
    depth: Depth,
    height: Height,
    speed: Speed = FAN,
    friction: Friction = USUAL_FRICTION,
    drag: Drag = BLUNT,
    units: Units = "both",
) -> Outcome:
    """Slide and tip speed on both pairs of sides and over the corner, the least mass, and what tape must hold.

    Parameters: `mass` [g]; lengths [mm]; `speed` [m/s]. The push acts at half the height. Sources: `measure.wind`.
    """
    at = spread_over(
        {
            "speed": Quantity(*speed, "m/s", "given", "measured"),
            "friction": Quantity(*friction, "-", "given", "measured"),
            "drag": Quantity(*drag, "-", "given", "measured"),
        }
    )
    sides = {
        "front": (at["drag"], width * height, depth),
        "side": (at["drag"], depth * height, width),
        "corner": (CORNER * at["drag"], math.hypot(width, depth) * height, None),
    }
    pressure = velocity_pressure(speed=at["speed"])
    amounts, moves, least, holds = [], [], [], []
    for name, (shape, face, base) in sides.items():
        slides = slide_speed(mass_g=mass, friction=at["friction"], drag=shape, face_mm2=face)
        first = slides
        amounts.append(amount(f"slides_{name}", f"slides, wind on the {name}", slides, SPEED, units))
        if base is not None:
            tips = tip_speed(mass_g=mass, base_mm=base, push_height_mm=height / 2, drag=shape, face_mm2=face)
            first = np.minimum(slides, tips)
            amounts.append(amount(f"tips_{name}", f"tips over, wind on the {name}", tips, SPEED, units))
        moves.append(first)
        # What moves it grows with the square of the speed, and what holds it with its mass.
        least.append(mass * (at["speed"] / first) ** 2)
        push = pressure * shape * face * 1e-6
        holds.append(np.maximum(push - at["friction"] * mass * GRAVITY_N_PER_G, 0))
    first = np.minimum.reduce(moves)
    value = amount("moves", "moves, wind from the worst side", first, SPEED, units)
    margin = amount("margin", "speed that moves it over the speed of the wind", first / at["speed"], "times")
    needed = amount("least_mass", "least mass that stays, no anchor", np.maximum.reduce(least), MASS, units)
    anchor = amount(
        "anchor", "force that tape or pegs must hold against sliding", np.maximum.reduce(holds), FORCE, units
    )
    amounts += [margin, needed, anchor, amount("pressure", "pressure of the wind", pressure, PRESSURE, units)]
    verdict = verdict_for(margin)
    return Outcome(
        verdict=verdict,
        text=_sentence(verdict, value.low, value.high, value.text, shown(speed.high, SPEED, units), needed.high, units),
        value=value,
        amounts=amounts,
        mend=[] if verdict == Verdict.CLEAR else _mend(anchor.high, needed.high, units),
        care=["An adult holds a powered fan; the fan and its cord are kept away from spray."],
        not_covered=[
            "Uplift: wind over and under a roof also lifts it, and that is not computed. Try a light roof first.",
            "Gusts, and sheets that flap or peel; tipping over a corner, which takes more than over a side.",
        ],
        sources=[
            ("own_arithmetic", "slide and tip speed from q = rho V²/2, 15 °C", "derived"),
            ("asce7", "the same velocity pressure, 0.613 V² Pa", "from_memory"),
            ("nasa_drag", "drag of a flat plate 1.28 and a wedge 1.14", "found"),
            ("drag_handbook", "drag of a cube 1.05 face-on and 0.80 edge-on, of a prism 1.3 ± 0.3", "from_memory"),
            ("fan_speeds", "small fan 1.5 m/s at the person, household fan up to 5 m/s just in front", "found"),
            ("unece_ctu", "friction of dry surfaces; paper on a table 0.2 to 0.4 from memory", "found"),
            ("wmo_beaufort", "names of the winds", "found"),
        ],
    )


def _sentence(verdict: Verdict, low: float, high: float, moves: str, fan: str, least_g: float, units: Units) -> str:
    names = [wind_words(v) for v in (low, high)]
    wind = names[0] if names[0] == names[1] else f"{names[0]} to {names[1]}"
    text = f"It begins to move at {moves}, outdoors {wind}."
    return (
        text
        + {
            Verdict.CLEAR: f" A wind of up to {fan} leaves it where it is.",
            Verdict.UNCERTAIN: f" A wind of up to {fan} may move it; from {shown(least_g, MASS, units)} it would stay.",
            Verdict.NOT_FEASIBLE: f" The wind moves it; only from {shown(least_g, MASS, units)} would it surely stay."
            if least_g <= HEAVIEST_G
            else " The wind moves it, and no weight that a small build carries holds it: fix it to the tray.",
        }[verdict]
    )


def _mend(force: float, least_g: float, units: Units) -> list[str]:
    mend = ["A lower, wider shape, or a weaker wind."]
    if least_g <= HEAVIEST_G:
        mend = [f"More mass at the bottom, up to {shown(least_g, MASS, units)} in all, or a lower, wider shape."]
    if force > 0:
        strip = MATERIAL["tape_lap"].low * TAPE_WIDTH_MM * STRIP_MM
        count = max(2, math.ceil(force / strip))
        mend.append(f"Fixed to the tray with {count} strips of tape, each lapped {STRIP_MM:g} mm (¾ in).")
    return mend
