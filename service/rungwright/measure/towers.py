"""Reference forms of a lookout tower: posts in tiers of a stick's length, braced or not, the weight on its platform.

Sources: the formulas of `statics`; sway of posts whose taped corners turn: derived, 8 k / h for four posts; the
stiffness k of a taped corner is a starting guess.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from rungwright.measure import members
from rungwright.measure.form import Modes
from rungwright.measure.quantiles import Points
from rungwright.measure.structure import Structure

TIER_MM = 105.0
"""a stick's length less its lap; a rolled half sheet is as tall"""
LAP_MM = 20.0
PLATFORM_MM = 104.0
LOWEST_MM, HIGHEST_MM = 80.0, 1000.0
NEAR_A_POST = 1.25
"""a weight off the middle sets 4/5 of itself on one post; starting guess"""


@cache
def towers(height_mm: float) -> tuple[Structure, ...]:
    """The forms that are at least so tall, 80 to 1000 mm, plain ones first; ValueError outside."""
    if not LOWEST_MM <= height_mm <= HIGHEST_MM:
        raise ValueError(f"height_mm must be from {LOWEST_MM:g} to {HIGHEST_MM:g}, not {height_mm!r}")
    tiers = math.ceil(height_mm / TIER_MM)
    forms = [_sticks(tiers, 4, braced=False), _sticks(tiers, 4, braced=True), _sticks(tiers, 3, braced=True)]
    return (*forms, _rolls(tiers))


def sway_load(*, stiffness: np.ndarray, height: float, posts: int) -> np.ndarray:
    """Weight under which a tier of upright posts sways over, 2 n k / h [N]: k [N mm/rad] at both ends of each post.

    Derived: a lean a lets the weight do P h a^2 / 2 of work and stores n k a^2.
    """
    return 2 * posts * stiffness / height


def _sticks(tiers: int, posts: int, *, braced: bool) -> Structure:
    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        post, platform = members.stick_column(m, TIER_MM), members.stick_beam(m, PLATFORM_MM)
        centre = {"the posts buckle": posts * post, "the platform sticks break": 2 * platform}
        off = {"a post buckles": NEAR_A_POST * post, "a platform stick breaks": platform}
        if tiers > 1:
            lap = joints * 2 * members.lap(m, LAP_MM)
            centre["the posts slip at their laps"] = posts * lap
            off["a post slips at its lap"] = NEAR_A_POST * lap
        if not braced:
            sways = joints * sway_load(stiffness=m["joint_turn"], height=TIER_MM, posts=posts)
            centre["the corners turn and it sways over"] = off["the corners turn and it sways over"] = sways
        return centre, off

    each = posts * (3 if braced else 2)
    legs = {3: "three", 4: "four"}[posts]
    tall = "one tier" if tiers == 1 else f"{tiers} tiers"
    way = "a diagonal on every side" if braced else "no diagonals"
    return Structure(
        f"tower_{posts}_{'braced' if braced else 'plain'}", f"{legs}-post stick tower of {tall} with {way}",
        each * tiers + posts + 2, 0, 6.0 * posts * (tiers + 1) + (4 * posts * tiers if braced else 0), strengths,
    )  # fmt: skip


def _rolls(tiers: int) -> Structure:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        post = members.paper_post(m)
        at_middle, at_edge = members.FOLDS_UNDER_THE_WEIGHT, members.FOLDS_NEAR_AN_EDGE
        middle, edge = (members.folded_roof(m, PLATFORM_MM, layers=2, facets=n) for n in (at_middle, at_edge))
        return (
            {"the folded platform buckles": middle, "the posts crush": 4 * post},
            {"the folded platform buckles": edge, "a post crushes": post},
        )

    tall = "one tier" if tiers == 1 else f"{tiers} tiers"
    # Four half sheets a tier, a sheet between tiers, a folded platform of two on top.
    sheets = 2 * tiers + (tiers - 1) + 2
    return Structure(
        "tower_rolls", f"four-post tower of rolled paper in {tall}", 0, sheets, 16.0 * (tiers + 1), strengths
    )
