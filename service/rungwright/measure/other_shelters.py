"""Refuges that groups try besides the drawn ones: poles that meet at a top, an arched sheet, a paper box.

They are listed beside the forms of `forms`, so that a teacher sees what they bear; no recommendation draws them, as
the drawn ones do as well with no more pieces.

Sources
[1] Leaning poles: `statics.leaning_poles`, derived.
[2] Two-hinged half-round arch, weight at its crown: moment P R (1/2 - 1/pi), derived; it sways at 5.9 E I / R^2, from
    memory (the linear eigenvalue, solved in the tests, is 6.1).
[3] Effective width of a thin wall beside a held edge, 0.95 t sqrt(E / s): von Karman, from memory.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from rungwright.measure import members, statics
from rungwright.measure.constants import SHEET_ON_POSTS, STICK_LENGTH_MM
from rungwright.measure.form import SMALL, Floor, Form, Modes
from rungwright.measure.quantiles import Points

POLE_TOP_MM = 100.0
FOOT_RADIUS_MM = math.sqrt(STICK_LENGTH_MM**2 - POLE_TOP_MM**2)
ARCH_RADIUS_MM, ARCH_DEPTH_MM = 75.0, 150.0
ARCH_SWAYS = 5.9
OFF_THE_CROWN = (0.55, 0.8)
"""what an arch bears off its crown before it sways and before it creases, over that at the crown; starting guess"""
COVER_OFF_MIDDLE = 0.6
"""what a cover hung between poles bears off its middle; starting guess"""
BOX_NEAR_A_WALL = 0.4
"""what the walls of a box bear when the weight is near one of them; starting guess"""


@cache
def other_shelters() -> tuple[Form, ...]:
    return (_poles(3), _poles(6), _arch(1), _arch(3), _box())


def _poles(count: int) -> Form:
    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        along, outward, _ = statics.leaning_poles(load=1.0, height=POLE_TOP_MM, foot_radius=FOOT_RADIUS_MM, poles=count)
        centre = {
            "the poles buckle": members.stick_column(m, STICK_LENGTH_MM) / along,
            "the ties between the feet slip": joints * members.lap(m, 15) / outward,
            "the tape at the top peels": joints * members.peel(m) / outward,
        }
        lean = FOOT_RADIUS_MM / STICK_LENGTH_MM
        cover = COVER_OFF_MIDDLE * members.hung_sheet(m, POLE_TOP_MM, strips_a_side=1, joints=joints)
        off = {**centre, "a pole breaks": members.stick_beam(m, 105, 40) / lean, "the cover peels off": cover}
        return centre, off

    word = {3: "three", 6: "six"}[count]
    # The square inside the circle of the feet.
    floor = Floor(math.floor(FOOT_RADIUS_MM * math.sqrt(2)), math.floor(FOOT_RADIUS_MM * math.sqrt(2)))
    label = f"tent of {word} poles that meet at a top, feet tied"
    return Form(
        f"poles_{count}", label, "poles", "point", floor, count, 1, 25 + 5 * count / 2, 95, strengths, legs=count
    )


def arch_loads(
    *, e: np.ndarray, thickness: np.ndarray, strength: np.ndarray, layers: int
) -> tuple[np.ndarray, np.ndarray]:
    """Weight at the crown [N] at which an arched sheet sways over, and at which it creases [2].

    Its layers slip on each other. MPa and mm.
    """
    inertia = layers * statics.rectangle_inertia(width=ARCH_DEPTH_MM, thickness=thickness)
    modulus = layers * statics.rectangle_modulus(width=ARCH_DEPTH_MM, thickness=thickness)
    sways = ARCH_SWAYS * e * inertia / ARCH_RADIUS_MM**2
    return sways, strength * modulus / ((0.5 - 1 / math.pi) * ARCH_RADIUS_MM)


def _arch(layers: int) -> Form:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        sways, creases = arch_loads(
            e=m["paper_e"], thickness=m["paper_thickness"], strength=m["paper_crush"], layers=layers
        )
        modes = {"the arch sways over": sways, "the arch creases": creases}
        return modes, {name: load * part for (name, load), part in zip(modes.items(), OFF_THE_CROWN, strict=True)}

    word = {1: "one sheet", 3: "three sheets"}[layers]
    side = 2 * ARCH_RADIUS_MM
    return Form(
        f"arch_{layers}", f"arch of {word} of paper, feet taped down", "arch", "arch",
        Floor(side, ARCH_DEPTH_MM), 0, layers, 16, ARCH_RADIUS_MM, strengths, legs=0,
    )  # fmt: skip


def _box() -> Form:
    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        t = m["paper_thickness"]
        beside_a_corner = 0.95 * t * np.sqrt(m["paper_e"] / m["paper_crush"])
        walls = 8 * beside_a_corner * t * m["paper_crush"]
        lid = SHEET_ON_POSTS * members.hung_sheet(m, SMALL.width, strips_a_side=1, joints=joints)
        centre = {"the walls crease": walls, "the lid pulls in": lid}
        return centre, {"the walls crease": BOX_NEAR_A_WALL * walls, "the lid pulls in": 0.6 * lid}

    return Form("box_paper", "paper box with a flat lid", "box", "flat", SMALL, 0, 2, 30, 106, strengths, legs=0)
