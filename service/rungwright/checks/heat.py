"""How fast something warm cools through its layers."""

from __future__ import annotations

import numpy as np

from rungwright.checks import fields
from rungwright.checks.quantities import CONDUCTION, COOLING, TEMPERATURE, TIME, shown
from rungwright.checks.result import InputError, Outcome, amount, verdict_for
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure import heat as physics
from rungwright.measure.quantiles import spread_over

Layers = fields.layers(tuple(sorted(physics.CONDUCTIVITY)), "layers from the inside to the outside")
Water = fields.volume(1, 20_000, "water inside")
Area = fields.area(1, 50_000, "area through which heat goes, lid and bottom included")
Start = fields.temperature(-10, 60, "temperature at the start")
Room = fields.temperature(-40, 50, "temperature around it")
Minutes = fields.time(0.1, 1440, "time of the test")
Keep = fields.temperature(-20, 60, "temperature that it must not pass by the end")

Fanned = fields.choice(bool, "whether wind blows on it")


def check(
    *,
    layers: Layers,
    water: Water,
    area: Area,
    start: Start = 45.0,
    room: Room = 20.0,
    minutes: Minutes = 10.0,
    keep: Keep | None = None,
    fanned: Fanned = False,
    units: Units = "both",
) -> Outcome:
    """U-value of the layers and the temperature after the test.

    Parameters: `layers` of (material, thickness [mm]); `water` [ml]; `area` [cm2]; temperatures [C]; `minutes` [min].
    Raises InputError where start and room are alike, or `keep` does not lie between them. Sources: `measure.heat`.
    """
    if abs(start - room) < 0.5:
        raise InputError("start", "must differ from the room by at least half a degree")
    if keep is not None and not min(start, room) < keep < max(start, room):
        raise InputError(
            "keep", f"must lie between start and room, {shown(start, TEMPERATURE)} and {shown(room, TEMPERATURE)}"
        )
    used = {name: physics.CONDUCTIVITY[name] for name, _ in layers}
    outside = physics.SURFACES_IN_WIND if fanned else physics.SURFACES
    at = spread_over({**used, "outside": outside})
    resistance = physics.layers_resistance(
        thickness_mm=[d for _, d in layers], conductivity=[at[name] for name, _ in layers]
    )
    u = physics.u_value(layers=resistance, surfaces=at["outside"])
    constant = physics.time_constant_min(mass_g=water, u=u, area_mm2=area * 100)
    ends = physics.temperature_after(start=start, room=room, minutes=minutes, time_constant=constant)
    value = amount("temperature", "temperature at the end", ends, TEMPERATURE, units)
    bare = physics.time_constant_min(mass_g=water, u=1 / at["outside"], area_mm2=area * 100)
    without = physics.temperature_after(start=start, room=room, minutes=minutes, time_constant=bare)
    amounts = [
        amount("u_value", "heat through a square metre for each degree", u, COOLING, units),
        amount("time_constant", "time in which the difference falls to about a third", constant, TIME, units),
        amount("without_layers", "temperature at the end with no layers", without, TEMPERATURE, units),
    ]
    way = "cools" if start > room else "warms"
    text = (
        f"In {shown(minutes, TIME, units)} it {way} from {shown(start, TEMPERATURE, units)} to {value.text}; "
        f"with no layers, to {amounts[2].text}."
    )
    amounts += [
        amount(f"conductivity_{name}", f"conductivity of {name.replace('_', ' ')}, {q.status}", at[name], CONDUCTION)
        for name, q in used.items()
    ]
    verdict, mend = None, []
    if keep is not None:
        margin = amount(
            "margin", "difference kept over the difference that must be kept", (ends - room) / (keep - room), "times"
        )
        lasts = constant * np.log((start - room) / (keep - room))
        amounts += [margin, amount("lasts", "time until it passes the limit", lasts, TIME, units)]
        verdict, limit = verdict_for(margin), shown(keep, TEMPERATURE, units)
        text += {
            Verdict.CLEAR: f" It stays on the right side of {limit}.",
            Verdict.UNCERTAIN: f" Whether it stays on the right side of {limit} depends on seams and damp.",
            Verdict.NOT_FEASIBLE: f" It passes {limit} before the end.",
        }[verdict]
        mend = (
            [] if verdict == Verdict.CLEAR else ["More or thicker layers with still air in them, a lid, or more water."]
        )
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        mend=mend,
        care=["Warm water is 45 °C (113 °F) at most up to grade 5 and 50 °C (122 °F) above; an adult pours."],
        not_covered=[
            "Heat that leaves by evaporation from open water, by gaps and wet layers, or by radiation off shiny foil.",
            "The water is taken to mix, and to be in touch with the innermost layer.",
        ],
        sources=[
            ("own_arithmetic", "Newton's law of cooling for water that mixes", "derived"),
            ("iso_10456", "thermal conductivity of each material", "second_hand"),
            ("iso_6946", "adding resistances, 0.13 m²K/W of still air at a surface", "from_memory"),
            ("trade_of_small_builds", "conductivity of bubble wrap, corrugated card, newspaper", "from_memory"),
        ],
    )
