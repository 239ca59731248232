"""How much rain the test makes, what it is called, and whether the cover is large enough."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from rungwright.checks import fields
from rungwright.checks.quantities import AREA, LENGTH, RATE, VOLUME, Range, shown
from rungwright.checks.result import Outcome, amount
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure.constants import GRAVITY, OVERLAP, STROKE_ML, Quantity
from rungwright.measure.quantiles import spread_over
from rungwright.measure.rain import SOAKING_ML, rain_depth_mm, rain_rate_mm_h, rain_word, shower_word

Way = fields.choice(Literal["sprayer", "dropper", "holes"], "how the rain is made")
Strokes = fields.count(0, 2000, "strokes of the sprayer")
Stroke = fields.volume(0.05, 10, "water in one stroke", ranged=True)
Drops = fields.count(0, 20_000, "drops of the dropper")
Holes = fields.count(0, 500, "holes in the bottom of the can")
Hole = fields.length(0.2, 10, "diameter of a hole")
Head = fields.length(1, 500, "height of the water in the can, on average")
Minutes = fields.time(0.05, 60, "time that it rains")
Width = fields.length(20, 2000, "width of the place it falls on, seen from above")
Depth = fields.length(20, 2000, "depth of the place it falls on, seen from above")
Places = fields.count(1, 50, "places that are rained on, one after the other")
Spot = fields.length(5, 1000, "width of the spot that is wet at one place")
Cover = fields.area(0, 20_000, "waterproof cover there is")
Slope = fields.angle(0, 80, "slope of the roof from level")
Paper = fields.choice(bool, "whether paper is what carries the roof")

USUAL_STROKE = Range(STROKE_ML.low, STROKE_ML.high)
DROP_ML = 0.05
HOLE_FLOW = Quantity(0.6, 0.8, "-", "flow of a hole over that without losses, sharp to rounded", "from memory")


def check(
    *,
    way: Way = "sprayer",
    strokes: Strokes = 10,
    stroke: Stroke = USUAL_STROKE,
    drops: Drops = 100,
    holes: Holes = 10,
    hole: Hole = 1.0,
    head: Head = 50.0,
    minutes: Minutes = 1.0,
    width: Width = 150.0,
    depth: Depth = 150.0,
    places: Places = 1,
    spot: Spot | None = None,
    cover: Cover | None = None,
    slope: Slope = 0.0,
    paper_carries: Paper = False,
    units: Units = "both",
) -> Outcome:
    """Water, depth and rate of the rain, and the cover against the developed roof with its overlaps.

    Parameters: `stroke` [ml]; lengths [mm]; `minutes` [min]; `cover` [cm2]; `slope` [degrees].
    Sources: `measure.rain`; a hole lets through Cd A sqrt(2 g h).
    """
    area = width * depth
    at = spread_over({"stroke": Quantity(*stroke, "ml", "given", "measured"), "flow": HOLE_FLOW})
    if way == "sprayer":
        water, made = strokes * at["stroke"], f"{strokes} strokes"
    elif way == "dropper":
        water, made = np.full_like(at["stroke"], drops * DROP_ML), f"{drops} drops"
    else:
        water = at["flow"] * _hole_ml_min(holes, hole, head) * minutes
        made = f"{holes} holes"
    depths = np.array([rain_depth_mm(millilitres=ml, area_mm2=area) for ml in np.quantile(water, [0.05, 0.5, 0.95])])
    rates = np.array([rain_rate_mm_h(depth_mm=d, minutes=minutes) for d in depths])
    value = amount("rate", "rate of the rain", rates, RATE, units)
    amounts = [
        amount("water", "water in all", water, VOLUME, units),
        amount("depth", "depth where it falls", depths, LENGTH, units),
    ]
    if spot is not None:
        wet = min(1.0, places * math.pi / 4 * spot**2 / area)
        amounts.append(amount("reached", "part of the roof that is reached, spots side by side", wet, ""))
    within = "a minute" if minutes == 1 else f"{minutes:g} minutes"
    text = f"{made} in {within} make {amounts[1].text} of rain, {value.text}: {_words(rates)}."
    verdict, mend = None, []
    if cover is not None:
        needed = area / 100 / math.cos(math.radians(slope)) * OVERLAP
        ratio = cover / needed
        amounts += [
            amount("cover_needed", "cover that the roof needs, slope and overlaps included", needed, AREA, units),
            amount("cover_ratio", "cover there is over that", ratio, ""),
        ]
        enough = round(ratio, 6) >= 1
        verdict = Verdict.CLEAR if enough else Verdict.UNCERTAIN
        text += (
            f" A cover of {shown(cover, AREA, units)} reaches over the whole roof."
            if enough
            else f" The roof needs a cover of {shown(needed, AREA, units)}; with {shown(cover, AREA, units)}, "
            "slope and seams decide."
        )
        mend = [] if enough else ["More cover, a steeper or smaller roof, or seams that overlap downhill."]
    if paper_carries and np.median(water) >= SOAKING_ML:
        text += " Wet paper keeps only 10 to 30 % of its strength: set the weight before the rain."
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        mend=mend,
        care=["Fresh water only, in a sprayer that never held a cleaner; not at faces. Wipe spills at once."],
        not_covered=["Wind-driven rain, water that runs in along the floor, and how tight the seams are."],
        sources=[
            ("own_arithmetic", "1 ml on 1000 mm² is 1 mm", "derived"),
            ("ams_glossary", "light up to 2.5 mm/h, moderate up to 7.6, heavy above", "found"),
            ("met_office_rain", "showers: slight, moderate, heavy, violent", "second_hand"),
            ("trade_of_small_builds", "a stroke gives 0.8 to 1.2 ml, a drop 0.05 ml; flow of a hole", "from_memory"),
            ("common_practice", "a tenth more cover for overlaps", "common_practice"),
            ("wet_paper_straws", "wet paper loses 70 to 90 % of its compressive strength", "found"),
        ],
    )


def _hole_ml_min(holes: int, hole_mm: float, head_mm: float) -> float:
    """Flow with no losses [ml/min]: A sqrt(2 g h) (Torricelli)."""
    speed_mm_s = math.sqrt(2 * GRAVITY * head_mm * 1e-3) * 1e3
    return holes * math.pi / 4 * hole_mm**2 * speed_mm_s * 60 / 1000


def _words(rates: np.ndarray) -> str:
    """Both schools of words, over the range of the rate."""
    rain = list(dict.fromkeys(rain_word(r) for r in rates))
    shower = list(dict.fromkeys(shower_word(r) for r in rates))
    return f"{' to '.join(rain)} rain in US terms, a {' to '.join(shower)} shower in UK terms"
