"""Reference forms of the refuge that a kit of craft sticks, paper and tape can make, with stated dimensions.

Sticks are 114 mm long, so a bay is as long as its sticks. Paper posts are half sheets rolled, paper joists whole ones.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from rungwright.measure import members
from rungwright.measure.constants import SHEET_ON_POSTS, STICK_LENGTH_MM
from rungwright.measure.form import LARGE, LONG, SMALL, TWO_BAYS, WIDE, Array, Floor, Form, Modes
from rungwright.measure.quantiles import Points

LEAN_DEG = 60.0


def _under(joists: int) -> tuple[float, float]:
    """Joists that carry the weight at the centre and near an edge: a hand sets it on one of two or three for sure."""
    return (2.0, 1.3) if joists >= 4 else (1.0, 1.0)


def _feet_free() -> Form:
    def strengths(m: Points, _: float) -> tuple[Modes, Modes]:
        slides = {"the feet slide apart": members.feet_free(m, LEAN_DEG)}
        return slides, slides

    return Form(
        "leaning_free",
        "pair of leaning panels with their feet free",
        "leaning",
        "ridge",
        SMALL,
        6,
        2,
        20,
        95,
        strengths,
        legs=6,
    )


def _leaning(pairs: int) -> Form:
    lean = np.radians(LEAN_DEG)

    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        ties = joints * 4 * np.tan(lean) * members.lap(m, 20)
        strip = joints * members.peel(m) / np.cos(lean)
        centre = {
            "the leaning sticks buckle": 4 * np.sin(lean) * members.stick_column(m, STICK_LENGTH_MM),
            "the ridge stick breaks": members.stick_beam(m, STICK_LENGTH_MM / (pairs - 1), 30),
            "the tape at the ridge peels": pairs * strip,
            "the ties between the feet slip": ties,
        }
        off = {
            "a leaning stick breaks": members.stick_beam(m, 110, 40) / np.cos(lean),
            "the tape at the ridge peels": 1.4 * strip,
            "the ties between the feet slip": ties / 2,
        }
        # Whatever the ridge bears at its middle bounds a weight beside it too.
        return centre, {**off, "the ridge stick breaks": centre["the ridge stick breaks"]}

    word = {2: "two", 3: "three"}[pairs]
    label = f"tent of {word} pairs of leaning sticks with their feet tied"
    return Form(
        f"leaning_{pairs}", label, "leaning", "ridge", SMALL, 2 * pairs + 1, 1, 10 * pairs + 10, 95, strengths,
        legs=2 * pairs,
    )  # fmt: skip


def _frame(joists: int, floor: Floor) -> Form:
    bays, span = 1 if floor is SMALL else 2, 104.0

    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        corners = 4 * joints * np.minimum(2 * members.peel(m), members.lap(m, 20))
        post = members.stick_column(m, 110)
        sheet = members.hung_sheet(m, span, strips_a_side=2, joints=joints)
        at_centre, at_edge = _under(joists)
        stick = members.stick_beam(m, span) if joists else 0 * sheet
        centre = {
            **_sheet_or_sticks(sheet, at_centre * stick),
            "the posts buckle": 4 * post,
            "the corners slip": corners,
        }
        off = {
            **_sheet_or_sticks(0.6 * sheet, at_edge * stick),
            "a post buckles": 1.25 * post,
            "the corners slip": corners / 2,
        }
        return centre, off

    count = {2: "two", 4: "four", 8: "eight"}
    words = f"{count[joists * bays]} sticks across the roof" if joists else "a paper roof"
    label = f"{('four-post', 'two-bay')[bays - 1]} stick frame with paper walls and {words}"
    rigid, sheets, tape = ((8, 2, 40), (13, 3, 60))[bays - 1]
    roof = "sticks" if joists else "flat"
    return Form(
        f"frame_{bays}_{joists}", label, "stick_frame", roof, floor, rigid + joists * bays, sheets, tape, 106,
        strengths, legs=2 * (bays + 1), across=joists * bays,
    )  # fmt: skip


def _sheet_or_sticks(sheet: Array, sticks: Array) -> Modes:
    """A taped roof sheet catches the weight where the sticks below it have broken, so the roof bears the larger.

    It is told by whichever of them bears more.
    """
    roof = np.maximum(sheet, sticks)
    by_sheet = np.median(sheet, axis=-1, keepdims=True) >= np.median(sticks, axis=-1, keepdims=True)
    return {
        "the tape of the roof sheet peels": np.where(by_sheet, roof, np.inf),
        "the sticks across break": np.where(by_sheet, np.inf, roof),
    }


def _posts(
    name: str, label: str, roof: str, floor: Floor, *, rigid: int, sheets: int, tape: float, across: int, mode: str,
    bears: Callable[[Points, float], tuple[Array, Array]],
) -> Form:  # fmt: skip
    """Four rolled posts; `bears` gives the roof at the centre and off it."""

    def strengths(m: Points, joints: float) -> tuple[Modes, Modes]:
        post, (centre, off) = members.paper_post(m), bears(m, joints)
        return {mode: centre, "the posts crush": 4 * post}, {mode: off, "a post crushes": post}

    size = {SMALL: "", WIDE: " over a wide floor", LONG: " over a long floor", LARGE: " over a large floor"}[floor]
    label = f"build on four rolled-paper posts with {label}{size}"
    identity = f"{name}_{floor.width:.0f}_{floor.depth:.0f}"
    return Form(
        identity, label, "rolled_posts", roof, floor, rigid, sheets, tape, 100, strengths, legs=4, across=across
    )


def _posts_with_sticks(joists: int) -> Form:
    def bears(m: Points, _: float) -> tuple[Array, Array]:
        stick, (at_centre, at_edge) = members.stick_beam(m, 104), _under(joists)
        return at_centre * stick, at_edge * stick

    word = {2: "two", 3: "three", 4: "four"}[joists]
    return _posts(
        f"posts_sticks_{joists}", f"{word} sticks across the roof", "sticks", SMALL, rigid=joists, sheets=3,
        tape=16 + 3 * joists, across=joists, mode="the sticks across break", bears=bears,
    )  # fmt: skip


def _posts_flat(floor: Floor) -> Form:
    def bears(m: Points, joints: float) -> tuple[Array, Array]:
        sheet = SHEET_ON_POSTS * members.hung_sheet(m, floor.width, strips_a_side=1, joints=joints)
        return sheet, sheet / 2

    return _posts(
        "posts_flat", "a plain flat paper roof", "flat", floor, rigid=0, sheets=3, tape=24, across=0,
        mode="the roof sheet pulls in", bears=bears,
    )  # fmt: skip


def _posts_folded(layers: int, floor: Floor) -> Form:
    def bears(m: Points, _: float) -> tuple[Array, Array]:
        at_centre, at_edge = members.FOLDS_UNDER_THE_WEIGHT, members.FOLDS_NEAR_AN_EDGE
        return tuple(members.folded_roof(m, floor.width, layers=layers, facets=n) for n in (at_centre, at_edge))

    word = {1: "one layer", 2: "two layers", 3: "three layers"}[layers]
    return _posts(
        f"posts_folded_{layers}", f"a folded paper roof of {word}", "folded", floor, rigid=0,
        sheets=3 + layers + _edge_rolls(floor), tape=24, across=0, mode="the folds buckle", bears=bears,
    )  # fmt: skip


def _posts_rolls(joists: int, floor: Floor) -> Form:
    def bears(m: Points, _: float) -> tuple[Array, Array]:
        # On a floor 210 mm deep even four rolls lie too far apart to share the weight.
        roll, (at_centre, at_edge) = members.paper_joist(m, floor.width), _under(joists if floor.depth < 200 else 2)
        return at_centre * roll, at_edge * roll

    word = {2: "two", 4: "four"}[joists]
    return _posts(
        f"posts_rolls_{joists}", f"{word} rolled-paper joists", "rolls", floor, rigid=0,
        sheets=3 + joists + _edge_rolls(floor), tape=16 + 4 * joists, across=joists, mode="a roll kinks", bears=bears,
    )  # fmt: skip


def _edge_rolls(floor: Floor) -> int:
    """Sheets for the two edge rolls on which the roof of a long floor rests."""
    return 1 if floor.depth > 200 else 0


@cache
def forms() -> tuple[Form, ...]:
    """Every reference form, in a fixed order."""
    return (
        *(_frame(joists, floor) for floor in (SMALL, TWO_BAYS) for joists in (0, 2, 4)),
        *(_leaning(pairs) for pairs in (2, 3)),
        *(_posts_with_sticks(joists) for joists in (2, 3, 4)),
        *(_posts_flat(floor) for floor in (SMALL, WIDE, LONG, LARGE)),
        *(_posts_folded(layers, floor) for floor in (SMALL, WIDE, LONG) for layers in (1, 2, 3)),
        *(_posts_rolls(joists, floor) for floor in (SMALL, WIDE) for joists in (2, 4)),
        *(_posts_rolls(4, floor) for floor in (LONG, LARGE)),
        _feet_free(),
    )


@dataclass(frozen=True)
class Sizes:
    """Columns over `forms()`."""

    face_mm2: Array
    base_mm: Array
    """the shorter side of the outline"""
    roof_cm2: Array
    """developed, overlap included"""
    catches_cm2: Array
    """the outline from above"""
    flat_roof: NDArray[np.bool_]
    paper_carries: NDArray[np.bool_]


@cache
def sizes() -> Sizes:
    every = forms()
    floors = [f.floor for f in every]
    return Sizes(
        face_mm2=np.array([f.face_mm2 for f in floors]),
        base_mm=np.array([min(f.outer_width, f.outer_depth) for f in floors]),
        roof_cm2=np.array([f.roof_area_cm2 for f in every]),
        catches_cm2=np.array([f.outer_width * f.outer_depth / 100 for f in floors]),
        flat_roof=np.array([f.flat_roof for f in every]),
        paper_carries=np.array([f.paper_carries for f in every]),
    )
