"""Does a raft or hull carry its cargo, and does it stay upright?"""

from __future__ import annotations

import numpy as np

from rungwright.checks import fields
from rungwright.checks.forms import raft_options
from rungwright.checks.quantities import ANGLE, LENGTH, MASS, shown
from rungwright.checks.result import InputError, Outcome, amount, verdict_for
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure import afloat
from rungwright.measure.constants import Quantity
from rungwright.measure.quantiles import spread_over

Length = fields.length(20, 3000, "length")
Width = fields.length(20, 3000, "width, the shorter side")
Height = fields.length(2, 500, "height of the sides; of a flat deck, its thickness")
Own = fields.mass(0.1, 50_000, "mass of the raft itself")
Cargo = fields.mass(1, 50_000, "cargo")
CargoHeight = fields.length(0, 1000, "middle of the cargo above the bottom; else on the deck's edge height")
Off = fields.length(0, 1500, "distance of the cargo from the middle line")
Freeboard = fields.length(0, 300, "side that must stay above water")
Sticks = fields.count(0, 500, "craft sticks in the kit")
Straws = fields.count(0, 500, "plastic straws in the kit")
Cover = fields.area(0, 20_000, "waterproof sheet in the kit")

# A build over its drawing: starting guesses.
_MADE = {
    "length": Quantity(0.97, 1.03, "-", "a build over its drawing", "starting guess"),
    "width": Quantity(0.97, 1.03, "-", "a build over its drawing", "starting guess"),
    "height": Quantity(0.93, 1.03, "-", "a build over its drawing", "starting guess"),
    "own": Quantity(0.9, 1.1, "-", "a build over its drawing", "starting guess"),
}


def check(
    *,
    length: Length,
    width: Width,
    height: Height,
    own_mass: Own,
    cargo: Cargo,
    cargo_height: CargoHeight | None = None,
    off_centre: Off = 0.0,
    freeboard: Freeboard = 5.0,
    sticks: Sticks = 0,
    straws: Straws = 0,
    cover: Cover = 0.0,
    units: Units = "both",
) -> Outcome:
    """Draught, freeboard, capacity, metacentric height and list of a box-shaped raft in fresh water.

    Parameters: lengths [mm], masses [g], `cover` [cm2]. Its own mass lies at half its height. Raises InputError where
    the cargo lies outside the raft or the freeboard is as high as its sides. Sources: see `measure.afloat` [1] to [3].
    """
    if off_centre > width / 2:
        raise InputError("off_centre", f"must be at most half the width, {shown(width / 2, LENGTH)}")
    if freeboard >= height:
        raise InputError("freeboard", f"must be below the height of the sides, {shown(height, LENGTH)}")
    made = spread_over(_MADE)
    l_mm, b_mm, h_mm = length * made["length"], width * made["width"], height * made["height"]
    own_g = own_mass * made["own"]
    total = own_g + cargo
    draught = afloat.draught_mm(mass_g=total, length_mm=l_mm, width_mm=b_mm)
    bears = afloat.capacity_g(
        length_mm=l_mm, width_mm=b_mm, height_mm=h_mm, own_mass_g=own_g, freeboard_mm=np.minimum(freeboard, h_mm * 0.99)
    )
    above = cargo_height if cargo_height is not None else height
    centre = (own_g * h_mm / 2 + cargo * above) / total
    gm = afloat.metacentric_height_mm(draught=draught, width_mm=b_mm, centre_of_mass_mm=centre)
    lists = afloat.list_deg(moment_g_mm=cargo * off_centre, mass_g=total, gm_mm=gm, bm_mm=b_mm**2 / (12 * draught))
    edge = afloat.edge_under_deg(draught=draught, height_mm=h_mm, width_mm=b_mm)

    steep, limit = np.tan(np.radians(np.maximum(lists, 1e-6))), np.tan(np.radians(edge))
    upright = np.where(gm > 0, np.minimum(limit / steep, 99.0), 0.0)
    margin = amount(
        "margin", "what it could bear over what it must", np.minimum(np.maximum(bears, 0) / cargo, upright), "times"
    )
    verdict = verdict_for(margin)
    value = amount("capacity", "cargo it carries with that freeboard", np.maximum(bears, 0), MASS, units)
    amounts = [
        amount("draught", "depth of its bottom under water", draught, LENGTH, units),
        amount("freeboard", "side above water, upright; below 0 it sinks", h_mm - draught, LENGTH, units),
        amount("displacement", "water it pushes away, by mass", total, MASS, units),
        amount("metacentric_height", "metacentric height, above 0 it stands upright", gm, LENGTH, units),
        amount("list", "lean with the cargo off the middle line", lists, ANGLE, units),
        amount("edge_under", "lean at which the deck edge reaches the water", edge, ANGLE, units),
        margin,
    ]
    return Outcome(
        verdict=verdict,
        text=_sentence(
            verdict, value.text, shown(cargo, MASS, units), gm, amounts[4].text, amounts[5].text, off_centre
        ),
        value=value,
        amounts=amounts,
        forms=raft_options(cargo_g=cargo, sticks=sticks, straws=straws, cover_cm2=cover, units=units),
        mend=[] if verdict == Verdict.CLEAR else _mend(gm, bears, cargo, off_centre),
        care=["A tub of water is never left unattended; wipe spills at once."],
        not_covered=["Waves, water taken in through seams, trim lengthwise, and cargo that slides."],
        sources=[
            ("own_arithmetic", "draught, capacity and the lean of a box with upright sides", "derived"),
            ("seamanship_handbook", "metacentric height of a box-shaped vessel, T/2 + B²/12T - KG", "found"),
            ("starting_guess", "how far a build comes out from its drawing", "starting_guess"),
        ],
    )


def _sentence(verdict: Verdict, bears: str, cargo: str, gm: np.ndarray, lean: str, edge: str, off: float) -> str:
    if np.median(gm) <= 0:
        return f"With {cargo} so high it does not stand upright in the water, whatever it could bear."
    leans = f" With the cargo off the middle it leans {lean}; its edge goes under at {edge}." if off else ""
    could = {
        Verdict.CLEAR: f"It carries {bears}, so {cargo} is safe if it is made as drawn.",
        Verdict.UNCERTAIN: f"It could carry {bears} and must carry {cargo}: how well it is made decides.",
        Verdict.NOT_FEASIBLE: f"It carries {bears} at most and upright, and must carry {cargo}: as drawn it will not.",
    }[verdict]
    return could + leans


def _mend(gm: np.ndarray, bears: np.ndarray, cargo: float, off: float) -> list[str]:
    mend = []
    if np.quantile(bears, 0.05) < cargo:
        mend.append("A longer or wider raft, or higher sides.")
    if np.quantile(gm, 0.05) <= 0:
        mend.append("Set the cargo lower, or make the raft wider.")
    elif off:
        mend.append("Set the cargo nearer to the middle line.")
    return mend
