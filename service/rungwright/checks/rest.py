"""Can the weight rest where it is set, are the spots far enough apart, and do the feet hold?"""

from __future__ import annotations

from typing import Literal

import numpy as np

from rungwright.checks import fields
from rungwright.checks.fields import USUAL_FRICTION
from rungwright.checks.quantities import ANGLE, shown
from rungwright.checks.result import Outcome, amount
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure import rest as physics
from rungwright.measure.constants import GRAVITY_N_PER_G
from rungwright.measure.statics import a_frame_friction_needed
from rungwright.measure.verdicts import VERDICTS

ItemWord = fields.choice(Literal["bag", "can", "bottle"], "what the weight is")
Roof = fields.choice(Literal["flat", "slope", "ridge"], "where it is set: a flat roof, a slope, or on the ridge")
Slope = fields.angle(0, 89, "slope of the roof from level")
Width = fields.length(10, 2000, "width of the roof")
Depth = fields.length(10, 2000, "depth of the roof")
Across = fields.length(5, 500, "width that the item needs")
Spots = fields.count(1, 20, "spots where the weight is set")
Friction = fields.plain_range(0.02, 1.5, "friction of the item on the roof, and of the feet on the table")
Feet = fields.choice(
    Literal["upright", "leaning", "tied", "in_tray"],
    "how it stands: upright posts, or leaning panels with feet free, tied, or against the rim of a tray",
)
Lean = fields.angle(5, 89, "lean of the panels from level")
Panel = fields.mass(0.5, 10_000, "mass of one leaning panel")
Weight = fields.mass(1, 50_000, "the weight")


def check(
    *,
    item: ItemWord,
    width: Width,
    depth: Depth,
    roof: Roof = "flat",
    slope: Slope = 0.0,
    item_width: Across | None = None,
    spots: Spots = 1,
    friction: Friction = USUAL_FRICTION,
    feet: Feet = "upright",
    lean: Lean = 60.0,
    panel: Panel = 9.2,
    mass: Weight = 370.0,
    units: Units = "both",
) -> Outcome:
    """The worst of three questions: does it rest, do the spots lie apart, do the feet stay.

    Parameters: lengths [mm], angles [degrees], masses [g]. Sources: `measure.rest` [1] to [3], `measure.statics`.
    """
    thing = physics.ITEMS[item]
    across = item_width or thing.width_mm
    slides = physics.slides_at_deg(friction=np.array([friction.low, friction.mid, friction.high]))
    # A bag sags into the slope and does not tip.
    tips = 90.0 if thing.drapes else float(physics.tips_at_deg(width_mm=across, height_mm=thing.height_mm))
    steep = np.minimum(slides, tips)
    possible = physics.spots_on_roof(width_mm=width, depth_mm=depth, item_width_mm=across)
    rests = _rests(thing, roof, slope, steep)
    apart = 0 if possible >= spots else 2
    needed = a_frame_friction_needed(
        ridge_load=mass * GRAVITY_N_PER_G, panel_weight=panel * GRAVITY_N_PER_G, angle_deg=lean
    )
    stay = 0 if feet != "leaning" or friction.low >= needed else 1 if friction.high >= needed else 2
    verdict = VERDICTS[max(rests, apart, stay)]
    amounts = [
        amount("spots", "spots whose middles lie an item's width apart", float(possible), ""),
        amount("slides_at", "slope at which it slides off", slides, ANGLE, units),
    ]
    if tips < 90:
        amounts.append(amount("tips_at", "slope at which it tips over", tips, ANGLE, units))
    if feet == "leaning":
        amounts.append(amount("friction_needed", "friction that free feet need", float(needed), ""))
    return Outcome(
        verdict=verdict,
        text=" ".join(
            filter(
                None,
                [
                    _rest_text(item, roof, slope, rests, units),
                    _spots_text(possible, spots),
                    _feet_text(feet, stay, float(needed)),
                ],
            )
        ),
        value=amount("rests_to", "slope up to which it rests", steep, ANGLE, units),
        amounts=amounts,
        mend=[] if verdict == Verdict.CLEAR else _mend(rests, apart, stay),
        care=["Lower the weight slowly over a tray, fingers and feet clear."],
        not_covered=["A roof that sags and so makes its own slope; a rim or a sling that holds the item."],
        sources=[
            (
                "own_arithmetic",
                "an item slides where tan(slope) is over the friction; feet of leaning panels",
                "derived",
            ),
            (
                "common_practice",
                "spots at least one item's width apart; sizes of bag, can and bottle",
                "common_practice",
            ),
            ("unece_ctu", "friction of dry surfaces; paper on a table 0.2 to 0.4 from memory", "found"),
        ],
    )


def _rests(thing: physics.Item, roof: str, slope: float, steep: np.ndarray) -> int:
    """Code of `verdicts`."""
    if roof == "ridge":
        return 0 if thing.drapes else 2
    return 0 if slope <= steep.min() else 1 if slope <= steep.max() else 2


def _rest_text(item: str, roof: str, slope: float, code: int, units: Units) -> str:
    if roof == "ridge":
        return "A bag lies over a ridge by itself." if code == 0 else f"A {item} does not rest on a ridge; a bag does."
    at = f"a slope of {shown(slope, ANGLE, units)}" if slope else "a level roof"
    return {
        0: f"A {item} rests on {at}.",
        1: f"Whether a {item} rests on {at} depends on how rough it is.",
        2: f"A {item} does not rest on {at}.",
    }[code]


def _spots_text(possible: int, spots: int) -> str:
    if possible == 0:
        return "The roof is smaller than the item."
    if spots == 1:
        return ""
    here = "There is room for only one spot" if possible == 1 else f"There is room for {possible} spots"
    return f"{here}, one item's width apart; {spots} are asked for."


def _feet_text(feet: str, code: int, needed: float) -> str:
    if feet == "upright":
        return ""
    if feet != "leaning":
        held = {"tied": "Tied feet hold by their ties", "in_tray": "The rim of the tray holds the feet"}[feet]
        return f"{held}, whatever the friction."
    return {
        0: "The feet hold by friction.",
        1: f"The feet need a friction of {needed:.2f}, which this table may or may not have.",
        2: f"The feet slide apart: they need a friction of {needed:.2f}. Tie them or set them in a tray.",
    }[code]


def _mend(rests: int, apart: int, stay: int) -> list[str]:
    mend = []
    if rests:
        mend.append("A bag of rice or sand in place of a can or bottle, or a flatter place.")
    if apart:
        mend.append("Fewer spots, a smaller item, or a larger roof.")
    if stay:
        mend.append("Feet tied together, or a tray with a rim.")
    return mend
