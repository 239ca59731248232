"""What depth of snow presses like the test weight."""

from __future__ import annotations

from typing import Literal

import numpy as np

from rungwright.checks import fields
from rungwright.checks.quantities import DENSITY, LENGTH, MASS, PRESSURE, Range, shown, shown_range
from rungwright.checks.result import Outcome, amount, verdict_for
from rungwright.domain.units import Units
from rungwright.measure import snow as physics
from rungwright.measure.constants import GRAVITY

Weight = fields.mass(1, 50_000, "weight on the roof")
Width = fields.length(20, 2000, "width of the roof it spreads over, seen from above")
Depth = fields.length(20, 2000, "depth of the roof it spreads over, seen from above")
Snow = fields.choice(
    Literal["dry_fresh", "fresh", "settled_fresh", "dry_old", "wet_old", "firn", "ice"], "kind of snow"
)
Dense = fields.density(20, 917, "density of the snow, in place of its kind", ranged=True)
Wanted = fields.length(1, 5000, "depth of snow that the story tells of")
Ground = fields.pressure(50, 30_000, "snow load of the ground where the story is, from a building code")

WORDS = {
    "dry_fresh": "dry fresh snow",
    "fresh": "fresh snow",
    "settled_fresh": "settled fresh snow",
    "dry_old": "dry old snow",
    "wet_old": "wet old snow",
    "firn": "last year's snow",
    "ice": "ice",
}


def check(
    *,
    mass: Weight,
    width: Width,
    depth: Depth,
    snow: Snow = "fresh",
    density: Dense | None = None,
    wanted_depth: Wanted | None = None,
    ground_load: Ground | None = None,
    units: Units = "both",
) -> Outcome:
    """Compare pressures over the roof as seen from above.

    Parameters: `mass` [g]; `width`, `depth`, `wanted_depth` [mm]; `density` [kg/m3]; `ground_load` [Pa].
    Sources: see `measure.snow` [1] to [3].
    """
    kinds = {name: Range(*ends) for name, ends in physics.SNOW_KG_M3.items()}
    own = density or kinds[snow]
    pressure = float(physics.pressure_of_mass(mass_g=mass, area_mm2=width * depth))
    value = amount("depth", "depth of snow that presses as hard", _depths(pressure, own), LENGTH, units)
    amounts = [amount("pressure", "pressure of the weight", pressure, PRESSURE, units)]
    amounts += [
        amount(f"depth_{name}", f"the same in {WORDS[name]}", _depths(pressure, ends), LENGTH, units)
        for name, ends in kinds.items()
        if density is not None or name != snow
    ]
    what = f"snow of {shown_range(*density, DENSITY, units)}" if density else WORDS[snow]
    text = (
        f"Spread over the roof, the weight presses like {value.text} of {what}. "
        "That compares pressure only; it does not say that a full-size roof would survive it."
    )
    verdict = None
    if wanted_depth is not None:
        ratio = amount("over_wanted", "depth over the depth of the story", _depths(pressure, own) / wanted_depth, "")
        ends = np.array([own.low, own.mid, own.high])
        grams = physics.snow_pressure(depth_mm=wanted_depth, density_kg_m3=ends) * width * depth / (GRAVITY * 1e3)
        needed = amount("mass_of_story", "weight that presses like the story", grams, MASS, units)
        amounts += [ratio, needed]
        verdict = verdict_for(ratio)
        text += f" The story tells of {shown(wanted_depth, LENGTH, units)}, which is {needed.text}."
    if ground_load is not None:
        roof = float(physics.flat_roof_snow(ground_pa=ground_load))
        amounts += [
            amount("roof_snow", "design snow of a flat roof there, factors of 1", roof, PRESSURE, units),
            amount("over_roof_snow", "pressure of the weight over that", pressure / roof, ""),
            amount(
                "code_density",
                "density the code takes",
                float(physics.code_density(ground_pa=ground_load)),
                DENSITY,
                units,
            ),
        ]
        text += f" A flat roof there is designed for {shown(roof, PRESSURE, units)}, where all factors are 1."
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        not_covered=[
            "A copy S times larger of the same material has the same stress under the same pressure, but its own "
            "weight, joints, tape, damp and slow sagging do not follow: nothing is said about a real roof.",
            "A can or bottle presses on one spot; snow lies everywhere, drifts, and slides off steep roofs.",
        ],
        sources=[
            ("own_arithmetic", "pressure is density x g x depth", "derived"),
            ("snow_weights", "density of each kind of snow", "found"),
            ("asce7", "flat-roof snow 0.7 Ce Ct Is pg and density 0.13 pg + 14 pcf", "found"),
        ],
    )


def _depths(pressure: float, dense: Range) -> np.ndarray:
    return physics.snow_depth_mm(pressure_pa=pressure, density_kg_m3=np.array([dense.high, dense.mid, dense.low]))
