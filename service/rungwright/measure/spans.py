"""Reference forms of a footbridge over a gap, of craft sticks, tape, glue and paper, the weight on a patch of its deck.

Sticks are 114 mm long: a longer beam is made of layers whose joints are staggered, so that at any place one layer of a
stack is cut. Sources: the formulas of `statics` and `truss`; how two beams share a weight near one of them is a
starting guess (one bears 3/4 of it).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from rungwright.measure import members, statics
from rungwright.measure.constants import POUCH_MM, SHEET_LONG_MM, STICK_LENGTH_MM
from rungwright.measure.form import Modes
from rungwright.measure.quantiles import Points
from rungwright.measure.structure import Structure
from rungwright.measure.truss import forces_of_a_middle_load

BEARING_MM = 10.0
"""that each end rests on"""
NEAR_ONE = 0.75
"""part of the weight that the nearer of two beams bears"""
SIDE_BY_SIDE = (3, 2)
"""sticks of four that share a patch at their middle and near an edge; starting guess"""
PANEL_MM = 100.0
"""a stick's length less its overlaps at the joints"""
LAYERS = 3
SHORTEST_MM, LONGEST_MM = 60.0, 900.0


@cache
def spans(gap_mm: float) -> tuple[Structure, ...]:
    """The forms that reach over a gap of 60 to 900 mm, plain ones first; ValueError outside."""
    if not SHORTEST_MM <= gap_mm <= LONGEST_MM:
        raise ValueError(f"gap_mm must be from {SHORTEST_MM:g} to {LONGEST_MM:g}, not {gap_mm!r}")
    span = gap_mm + BEARING_MM
    forms = []
    if gap_mm + 2 * BEARING_MM <= STICK_LENGTH_MM:
        forms.append(_flat(span))
    forms += [_layered(span, glue=False), _layered(span, glue=True), _box(span), _truss(span)]
    if gap_mm + 2 * BEARING_MM <= SHEET_LONG_MM:
        forms += [_rolls(span, n) for n in (2, 4)] + [_folded(span, layers) for layers in (1, 2, 3)]
    return tuple(forms)


def _two(one: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Two equal beams: at the middle between them, and near one."""
    return 2 * one, one / NEAR_ONE


def _sticks_in_line(span: float) -> int:
    return math.ceil((span + BEARING_MM) / STICK_LENGTH_MM)


def _flat(span: float) -> Structure:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        stick = members.stick_beam(m, span)
        at_middle, at_edge = SIDE_BY_SIDE
        return {"the sticks break": at_middle * stick}, {"the sticks break": at_edge * stick}

    return Structure("span_flat", "flat beam of four sticks side by side", 4, 0, 15, strengths)


def _layered(span: float, *, glue: bool) -> Structure:
    in_line = _sticks_in_line(span)
    whole = LAYERS if in_line == 1 else LAYERS - 1

    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        width, thickness = m["stick_width"], m["stick_thickness"]
        # Taped, each layer bends by itself; glued, the stack bends as one.
        modulus = (
            statics.rectangle_modulus(width=width, thickness=whole * thickness)
            if glue
            else whole * statics.rectangle_modulus(width=width, thickness=thickness)
        )
        moment = statics.beam_patch_moment(load=1.0, span=span, patch=POUCH_MM)
        breaks = _two(m["stick_strength"] * modulus / moment)
        modes = [{"the layers break": b} for b in breaks]
        if glue:
            # Shear 3 V / 2 A in the middle of the stack, V half the load.
            parts = _two(m["glue_shear"] * 4 / 3 * width * whole * thickness)
            modes = [{**mode, "the glue lets go": g} for mode, g in zip(modes, parts, strict=True)]
        return modes[0], modes[1]

    name, way = ("glued", "glued together") if glue else ("taped", "taped together")
    tape = 15.0 if glue else 15 + 2 * 5 * math.ceil(span / 50)
    return Structure(
        f"span_layers_{name}", f"two beams of three layers of sticks, {way}, with a paper deck",
        2 * LAYERS * in_line, 1, tape, strengths, glue,
    )  # fmt: skip


def box_section(width: np.ndarray, thickness: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """I [mm4], Z [mm3] and Q of a flange [mm3] of a box: two flat sticks over and under two on edge."""
    arm = (width + thickness) / 2
    flange = width * thickness
    inertia = 2 * (flange * arm**2 + statics.rectangle_inertia(width=width, thickness=thickness))
    inertia = inertia + 2 * statics.rectangle_inertia(width=thickness, thickness=width)
    return inertia, inertia / (width / 2 + thickness), flange * arm


def _box(span: float) -> Structure:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        inertia, modulus, first_moment = box_section(m["stick_width"], m["stick_thickness"])
        moment = statics.beam_patch_moment(load=1.0, span=span, patch=POUCH_MM)
        breaks = _two(m["stick_strength"] * modulus / moment)
        # Shear flow V Q / I on two glue lines as wide as a stick is thick, V half the load.
        parts = _two(m["glue_shear"] * 2 * m["stick_thickness"] * inertia / first_moment * 2)
        first, second = (
            {"a wall of the box breaks": b, "the glue lets go": g} for b, g in zip(breaks, parts, strict=True)
        )
        return first, second

    # Every wall is doubled, so that one of its two layers is whole at any place.
    return Structure(
        "span_box", "two glued box beams with doubled walls and a paper deck", 2 * 8 * _sticks_in_line(span), 1, 15,
        strengths, True,
    )  # fmt: skip


def _truss(span: float) -> Structure:
    panels = math.ceil(span / PANEL_MM)

    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        pull, press = forces_of_a_middle_load(panels)
        buckles = _two(members.stick_column(m, STICK_LENGTH_MM) / press)
        # Each bar is held by a strip on either face, lapped as far as the sticks overlap.
        slips = _two(joints * 2 * members.lap(m, STICK_LENGTH_MM - PANEL_MM) / max(pull, press))
        cross = (2 * members.stick_beam(m, PANEL_MM), members.stick_beam(m, PANEL_MM))
        first, second = (
            {"a pressed stick buckles": b, "a taped joint slips": s, "the sticks across break": c}
            for b, s, c in zip(buckles, slips, cross, strict=True)
        )
        return first, second

    triangle = "triangle" if panels == 1 else "triangles"
    return Structure(
        "span_truss", f"two taped trusses of {panels} stick {triangle} each, with sticks across", 10 * panels - 1, 1,
        2 * (2 * panels + 1) * 6, strengths,
    )  # fmt: skip


def _rolls(span: float, count: int) -> Structure:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        roll = members.paper_joist(m, span)
        at_middle, at_edge = (2.0, 1.3) if count >= 4 else (1.0, 1.0)
        return {"a roll kinks": at_middle * roll}, {"a roll kinks": at_edge * roll}

    word = {2: "two", 4: "four"}[count]
    return Structure(
        f"span_rolls_{count}", f"{word} rolled-paper beams with a paper deck", 0, count + 1, 10 + 4 * count, strengths
    )


def _folded(span: float, layers: int) -> Structure:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        at_middle, at_edge = members.FOLDS_UNDER_THE_WEIGHT, members.FOLDS_NEAR_AN_EDGE
        middle, edge = (members.folded_roof(m, span, layers=layers, facets=n) for n in (at_middle, at_edge))
        return {"the folds buckle": middle}, {"the folds buckle": edge}

    word = {1: "one layer", 2: "two layers", 3: "three layers"}[layers]
    return Structure(
        f"span_folded_{layers}", f"folded paper deck of {word} with a flat sheet under it", 0, layers + 1, 20, strengths
    )
