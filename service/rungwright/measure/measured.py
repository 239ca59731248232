"""A section's own readings as the checks take them, and how they are told."""

from __future__ import annotations

from rungwright.domain.readings import Readings
from rungwright.domain.units import Units, thickness_mm
from rungwright.measure.constants import MATERIAL, STROKE_ML
from rungwright.measure.quantiles import Materials

_MATERIALS = {"friction": "friction", "paper_thickness": "paper_thickness_mm", "stick_thickness": "stick_thickness_mm"}
"""Name in `constants.MATERIAL` and in the readings."""
Ends = tuple[float, float]


def materials_of(readings: Readings | None) -> Materials:
    """Those that were measured; empty where none was."""
    found = {name: readings.range_of(field) for name, field in _MATERIALS.items()} if readings else {}
    return tuple((name, *ends) for name, ends in found.items() if ends)


def friction_of(readings: Readings | None) -> Ends:
    usual = MATERIAL["friction"]
    return (readings and readings.range_of("friction")) or (usual.low, usual.high)


def stroke_of(readings: Readings | None) -> tuple[float, float, float]:
    """Water in a stroke [ml]: low, middle, high."""
    ends = readings and readings.range_of("stroke_ml")
    return (ends[0], sum(ends) / 2, ends[1]) if ends else (STROKE_ML.low, STROKE_ML.mid, STROKE_ML.high)


def told_of(materials: Materials, *, sticks: bool, paper: bool, units: Units) -> str:
    """`sticks of 1.85 to 1.95 mm, as you measured`: what a form is made of and was measured; empty for nothing."""
    said = [
        f"{thing} of {thickness_mm(low, high, units)}"
        for name, low, high in materials
        for wanted, thing, carries in (("stick_thickness", "sticks", sticks), ("paper_thickness", "paper", paper))
        if name == wanted and carries
    ]
    return f"{' and '.join(said)}, as you measured" if said else ""
