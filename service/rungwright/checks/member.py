"""When does one stick, tube or folded sheet buckle or break?"""

from __future__ import annotations

from typing import Literal

from rungwright.checks import fields
from rungwright.checks.quantities import FORCE, INERTIA, LENGTH, MOMENT, SPREAD_FORCE, STRESS
from rungwright.checks.result import InputError, Outcome, amount, verdict_for
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure import beam_columns, statics

Shape = fields.choice(Literal["rectangle", "tube", "folded"], "shape of its section")
Width = fields.length(0.05, 5000, "width of a rectangle, or one fold and back of a folded sheet")
Thickness = fields.length(0.01, 2000, "thickness of a rectangle, bent across it; of a folded sheet, its paper")
Outer = fields.length(0.1, 5000, "outer diameter of a tube; a rod is a tube whose wall is half of it")
Wall = fields.length(0.005, 2500, "wall of a tube")
Fold = fields.length(0.1, 1000, "depth of a folded sheet from crest to trough")
Facets = fields.count(1, 500, "facets of a folded sheet that bear")
Inertia = fields.quantity(INERTIA, 1e-6, 1e12, "second moment of area, in place of a shape")
Length = fields.length(5, 100_000, "length")
Stiffness = fields.quantity(STRESS, 1, 1e6, "stiffness E of the material", ranged=True)
Strength = fields.quantity(STRESS, 0.1, 1e4, "strength of the material in bending")
Ends = fields.choice(Literal["pin_pin", "fix_fix", "fix_free", "fix_pin"], "how its ends are held")
Load = fields.quantity(FORCE, 0.001, 1e9, "weight along it, as a force")
Push = fields.quantity(SPREAD_FORCE, 1e-9, 1e6, "even push across it, both ends pinned")
TipPush = fields.quantity(FORCE, 1e-6, 1e9, "push across its free end, foot fixed")


def check(
    *,
    length: Length,
    stiffness: Stiffness,
    shape: Shape = "rectangle",
    width: Width | None = None,
    thickness: Thickness | None = None,
    outer: Outer | None = None,
    wall: Wall | None = None,
    fold_depth: Fold | None = None,
    facets: Facets | None = None,
    inertia: Inertia | None = None,
    strength: Strength | None = None,
    ends: Ends = "pin_pin",
    load: Load | None = None,
    push: Push | None = None,
    tip_push: TipPush | None = None,
    units: Units = "both",
) -> Outcome:
    """Buckling load, bending at the middle of a simple span, and a push across a pressed member.

    Parameters: lengths [mm], `stiffness`, `strength` [MPa], `inertia` [mm4], `load`, `tip_push` [N], `push` [N/mm].
    Raises InputError where a size of the shape is missing or sizes do not go together. Sources: `measure.statics`,
    `measure.beam_columns`.
    """
    second, half = _section(shape, width, thickness, outer, wall, fold_depth, facets, inertia)
    e = [stiffness.low, stiffness.mid, stiffness.high]
    buckles = statics.euler_load(e=e, inertia=second, length=length, k=statics.END_FACTORS[ends])
    value = amount("buckles", "weight at which it buckles", buckles, FORCE, units)
    amounts = [amount("inertia", "second moment of area", second, INERTIA, units)]
    _, sag = statics.beam_centre_load(load=1.0, span=length, e=e, inertia=second)
    amounts.append(amount("sag", "sag at the middle for each newton there, laid flat", sag, LENGTH, units))
    text = f"Straight and well held, it buckles at {value.text}."
    if strength is not None:
        if half is None:
            raise InputError("strength", "needs a shape: with `inertia` alone the outer fibre is not known")
        breaks = 4 * strength * second / half / length
        amounts.append(amount("breaks", "weight at the middle that breaks it, laid flat", breaks, FORCE, units))
        text += f" Laid flat over its length, {amounts[-1].text} at the middle breaks it."
    verdict = None
    if load is not None:
        margin = amount("margin", "buckling load over the weight", buckles / load, "times")
        amounts.append(margin)
        verdict = verdict_for(margin)
    if push is not None or tip_push is not None:
        amounts += _pushed(ends, load or 0.0, push, tip_push, length, stiffness.mid, second, float(min(buckles)), units)
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        mend=[]
        if verdict in (None, Verdict.CLEAR)
        else ["Shorter, thicker, held in the middle, or several tied into one."],
        not_covered=[
            "Crooked or cracked pieces and joints that give way first: small builds reach a part of this only.",
            "Wrinkling of thin walls, which may come before buckling of the whole.",
        ],
        sources=[
            ("euler_columns", "Euler's load and K of the ends; simple beams", "found"),
            ("own_arithmetic", "second moments of area of a rectangle, a tube and a folded sheet", "derived"),
            ("beam_column_benchmarks", "moment and sag of a pressed member that is pushed across", "found"),
        ],
    )


def _section(
    shape: str,
    width: float | None,
    thickness: float | None,
    outer: float | None,
    wall: float | None,
    fold_depth: float | None,
    facets: int | None,
    inertia: float | None,
) -> tuple[float, float | None]:
    """Second moment of area [mm4] and distance of the outer fibre [mm]; None where only the first was given."""
    if inertia is not None:
        return inertia, None
    if shape == "rectangle":
        _need(shape, width=width, thickness=thickness)
        return float(statics.rectangle_inertia(width=width, thickness=thickness)), thickness / 2
    if shape == "tube":
        _need(shape, outer=outer, wall=wall)
        if wall > outer / 2:
            raise InputError("wall", "must be at most half the outer diameter")
        return float(statics.tube_inertia(outer_diameter=outer, wall=wall)), outer / 2
    _need(shape, width=width, thickness=thickness, fold_depth=fold_depth, facets=facets)
    second = statics.folded_plate_inertia(pitch=width, depth=fold_depth, thickness=thickness, facets=facets)
    return float(second), fold_depth / 2


def _need(shape: str, **sizes: float | None) -> None:
    for name, value in sizes.items():
        if value is None:
            raise InputError(name, f"is needed for a {shape}")


def _pushed(
    ends: str, load: float, push: float | None, tip_push: float | None, length: float, e: float, second: float,
    buckles: float, units: Units,
) -> list:  # fmt: skip
    if load >= buckles:
        raise InputError("load", "is at or over the buckling load, so a push across it cannot be borne")
    if push is not None:
        if ends != "pin_pin" or tip_push is not None:
            raise InputError("push", "is for a member with both ends pinned, and no other push")
        moment, sag = beam_columns.pushed_evenly(load_per_length=push, axial=load, length=length, e=e, inertia=second)
    else:
        if ends != "fix_free":
            raise InputError("tip_push", "is for a member whose foot is fixed and whose top is free")
        moment, sag = beam_columns.pushed_at_the_tip(load=tip_push, axial=load, length=length, e=e, inertia=second)
    return [
        amount("moment", "largest moment, grown by the weight", float(moment), MOMENT, units),
        amount("pushed_sag", "sag, grown by the weight", float(sag), LENGTH, units),
    ]
