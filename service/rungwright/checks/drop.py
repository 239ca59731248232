"""How fast a parcel lands, and how hard it stops."""

from __future__ import annotations

import numpy as np

from rungwright.checks import fields
from rungwright.checks.quantities import ENERGY, FORCE, LENGTH, SPEED, Range, shown
from rungwright.checks.result import Outcome, amount, verdict_for
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure import drop as physics
from rungwright.measure.constants import GRAVITY_N_PER_G, Quantity
from rungwright.measure.quantiles import spread_over

Height = fields.length(10, 20_000, "height of the drop")
Weight = fields.mass(1, 5_000, "mass of the parcel")
Stopping = fields.length(0.1, 1000, "how far it gives while it stops", ranged=True)
Face = fields.area(0.01, 20_000, "area of a parachute or of the parcel seen from below, where drag counts")
Drag = fields.plain_range(0.1, 3, "drag of that face")
Limit = fields.number(1, 10_000, "push that the contents bear, in times their own weight")

TIMES = "times its own weight"
CUSHION = Range(2.0, 15.0)
"""mm that a parcel of card and soft filling gives; starting guess"""
BLUNT = Range(1.0, 1.4)


def check(
    *,
    height: Height,
    mass: Weight,
    stopping: Stopping = CUSHION,
    face: Face | None = None,
    drag: Drag = BLUNT,
    limit: Limit | None = None,
    units: Units = "both",
) -> Outcome:
    """Impact speed, energy and the stop.

    Parameters: `height`, `stopping` [mm]; `mass` [g]; `face` [cm2]; `limit` in times the acceleration of gravity.
    Sources: see `measure.drop` [1] to [3].
    """
    at = spread_over(
        {
            "stopping": Quantity(*stopping, "mm", "given", "measured", log=True),
            "drag": Quantity(*drag, "-", "given", "measured"),
            "peak": Quantity(*physics.PEAK_OVER_MEAN, "-", "between crushing and springing", "derived"),
        }
    )
    free = physics.free_fall_speed(height_mm=height)
    if face is None:
        speed = np.full_like(at["stopping"], free)
    else:
        terminal = physics.terminal_speed(mass_g=mass, drag=at["drag"], face_mm2=face * 100)
        speed = physics.speed_with_drag(height_mm=height, terminal=terminal)
    mean = physics.mean_stop_g(speed=speed, stopping_mm=at["stopping"])
    peak = mean * at["peak"]
    value = amount("stop", "hardest push while it stops", peak, TIMES)
    amounts = [
        amount("speed", "speed when it lands", speed, SPEED, units),
        amount(
            "energy",
            "energy that the cushion must take",
            physics.impact_energy_j(mass_g=mass, speed=speed),
            ENERGY,
            units,
        ),
        amount("mean_stop", "mean push while it stops", mean, TIMES),
        amount(
            "force", "mean force while it stops, its weight included", (mean + 1) * mass * GRAVITY_N_PER_G, FORCE, units
        ),
    ]
    verdict, mend = None, []
    text = (
        f"From {shown(height, LENGTH, units)} it lands at {amounts[0].text} and stops with a push of {value.text}. "
        "Twice the stopping distance halves that."
    )
    if limit is not None:
        ratio = amount("margin", "what the contents bear over the hardest push", limit / peak, "times")
        amounts.append(ratio)
        verdict = verdict_for(ratio)
        text += {
            Verdict.CLEAR: f" The contents bear {limit:g} times, which is enough.",
            Verdict.UNCERTAIN: f" The contents bear {limit:g} times: how far the cushion gives decides.",
            Verdict.NOT_FEASIBLE: f" The contents bear only {limit:g} times.",
        }[verdict]
        mend = [] if verdict == Verdict.CLEAR else ["A softer, thicker cushion; a parachute; a lower drop."]
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        mend=mend,
        care=[
            "Nobody stands on furniture to drop; the landing place is kept clear of people.",
            "Eye protection where pieces may fly.",
        ],
        not_covered=["Tumbling, bouncing, and a cushion that is pressed flat before it has stopped the parcel."]
        + ([] if face is not None else ["Drag of the air: without a face given, the fall is taken as free."]),
        sources=[
            ("own_arithmetic", "fall, energy and stop from constant acceleration; fall against drag", "derived"),
            ("nasa_drag", "drag of blunt shapes, plate 1.28", "found"),
            ("starting_guess", "stopping distance where none is given", "starting_guess"),
        ],
    )
