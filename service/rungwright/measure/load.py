"""Can a build of this kit hold the weight? The form that is drawn, its capacity, the margin.

The form of a version is chosen in three steps, and every other check looks at the same form:
1. the smallest floor that holds the figures on which some form may hold the weight (95 % point of the margin 1 or
   more); where there is none, the form with the highest such point;
2. on that floor, among the forms that clearly hold it (5 % point 1 or more), the plainest: stick frame, tent, paper
   posts with sticks, paper alone;
3. among equally plain ones, and where none is clear, the one with the highest 5 % point.
So a better kit never loses a verdict on a floor, nor, once some form may hold the weight, moves to a larger face in
the wind.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import Band
from rungwright.domain.units import Units, mass
from rungwright.measure.columns import Columns
from rungwright.measure.constants import KNOWS_TO_ROLL, LEAST_TAPE_CM, WORKMANSHIP
from rungwright.measure.form import FLOORS, TAPE_SHARES, capacity
from rungwright.measure.forms import forms, sizes
from rungwright.measure.measured import told_of
from rungwright.measure.quantiles import Materials, combined
from rungwright.measure.room import fits_in
from rungwright.measure.verdicts import CLEAR, UNCERTAIN, Statement, verdict_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class LoadCheck:
    """Arrays over n versions."""

    form: NDArray[np.int64]
    """index into `forms.forms()`; where nothing can be made, of a form to speak of"""
    can_be_made: Flags
    """whether the kit makes any form at all"""
    holds_figures: Flags
    """whether a form that the kit makes holds the figures with their room"""
    fits: NDArray[np.int64]
    """figures that fit inside the form"""
    fits_if_small: NDArray[np.int64]
    """figures that fit inside it if its floor comes out a little small"""
    load_g: Array
    off_centre: Flags
    """the worst tested place is off the centre: more than one spot, or one that is drawn or that the tester picks"""
    builders_choose: Flags
    tape_share: Array
    """tape there over the tape that the form needs, at most 1"""
    margin_low: Array
    margin_mid: Array
    margin_high: Array
    """capacity times workmanship of the band over the weight, at the worst tested place: 5 %, 50 %, 95 %"""
    typical_margin: Array
    """the same at the centre for a sound typical build, at median workmanship: feeds the difficulty"""
    verdict: NDArray[np.int64]
    materials: Materials = ()
    """what was measured of them; the form was chosen and its margins worked out with it"""

    @property
    def flat_roof(self) -> Flags:
        return sizes().flat_roof[self.form]

    @property
    def paper_carries(self) -> Flags:
        return sizes().paper_carries[self.form]


@dataclass(frozen=True)
class _Table:
    """Columns over the forms."""

    rigid: Array
    sheets: Array
    tape: Array
    floor: NDArray[np.int64]
    """place of its floor in `form.FLOORS`"""
    area: Array
    plain: NDArray[np.int64]
    """0 the plainest; a pointed roof goes last where the weight needs a flat place"""
    ridge: Flags
    grams: Array
    """(forms, tape shares, centre/off, quantiles)"""
    flat_sheet: Flags
    folded: Flags
    rolls: Flags


@lru_cache(maxsize=32)
def _table(measured: Materials) -> _Table:
    every = forms()
    kinds = {"stick_frame": 0, "leaning": 1, "rolled_posts": 2}
    soft = [f.rigid == 0 for f in every]
    roofs = np.array([f.roof if s else "" for f, s in zip(every, soft, strict=True)])
    return _Table(
        rigid=np.array([f.rigid for f in every], float),
        sheets=np.array([f.sheets for f in every], float),
        tape=np.array([f.tape_cm for f in every], float),
        floor=np.array([FLOORS.index(f.floor) for f in every]),
        area=np.array([f.width * f.depth for f in every]),
        plain=np.array([kinds[f.kind] + s for f, s in zip(every, soft, strict=True)]),
        ridge=np.array([not f.flat_roof for f in every]),
        grams=np.stack([capacity(f, measured).grams for f in every]),
        flat_sheet=roofs == "flat",
        folded=roofs == "folded",
        rolls=roofs == "rolls",
    )


LOAD_LEVERS = (
    "rigid_pieces",
    "sheets",
    "joiner_length_cm",
    "room_each",
    "figure_count",
    "load_item",
    "load_mass_g",
    "load_place",
    "load_positions",
)
"""All that the check reads of the settings."""


def load_check(cols: Columns, band: Band, *, figure_height_mm: float, materials: Materials = ()) -> LoadCheck:
    """The form, its margin and verdict for every version. `figure_height_mm` above 0, ValueError otherwise.

    `materials`: what was measured of them, in place of their usual ranges.
    """
    t, work, load = _table(materials), WORKMANSHIP[band], cols["load_mass_g"]
    made, holds, fits, small = _what_can_be_made(t, cols, figure_height_mm)
    any_made, any_holds = made.any(axis=1), holds.any(axis=1)
    # Where nothing holds the figures, the check goes on with the largest floor; the room check says so.
    largest = made & (t.area == np.where(made, t.area, 0.0).max(axis=1)[:, None])
    usable = np.where(any_holds[:, None], holds, largest)

    grams = _at_tape(t, cols["joiner_length_cm"][:, None])
    off = (cols["load_positions"] > 1) | ~cols.is_one_of("load_place", "builder", "marked")
    worst = np.where(off[:, None, None], grams[:, :, 1], grams[:, :, 0])
    low, mid, high = _margins(worst, work, load[:, None])
    form = _choose(t, usable, low, high, needs_flat=off | ~cols.is_one_of("load_item", "bag"))
    at = np.arange(cols.n), form
    chosen = [np.where(any_made, m[at], 0.0) for m in (low, mid, high)]
    typical = _typical(t, usable, grams[:, :, 0, 1], band) * work.mid / load
    return LoadCheck(
        form=form,
        can_be_made=any_made,
        holds_figures=any_holds,
        fits=np.where(any_made, fits[at], 0),
        fits_if_small=np.where(any_made, small[at], 0),
        load_g=load,
        off_centre=off,
        builders_choose=cols.is_one_of("load_place", "builder"),
        tape_share=np.minimum(cols["joiner_length_cm"] / t.tape[form], 1.0),
        margin_low=chosen[0],
        margin_mid=chosen[1],
        margin_high=chosen[2],
        typical_margin=typical,
        verdict=verdict_of(chosen[0], chosen[2]),
        materials=materials,
    )


def _what_can_be_made(t: _Table, cols: Columns, height: float) -> tuple[Flags, Flags, NDArray, NDArray]:
    """(n, forms): the kit makes it; and it holds the figures; figures that fit; that fit if its floor is small."""
    rigid, sheets, tape = (cols[name][:, None] for name in ("rigid_pieces", "sheets", "joiner_length_cm"))
    made = (t.rigid <= rigid) & (t.sheets <= sheets) & (tape >= LEAST_TAPE_CM)
    rooms = tuple(str(s) for s in cols.levers["room_each"].settings)
    fits, small = (table[cols["room_each"]] for table in fits_in(rooms, height))
    return made, made & (fits >= cols["figure_count"][:, None]), fits, small


def _at_tape(t: _Table, tape: Array) -> Array:
    """Capacities [g] at the tape there is, (n, forms, centre/off, quantiles); linear between the tabulated shares."""
    step = TAPE_SHARES[1] - TAPE_SHARES[0]
    place = (np.clip(tape / t.tape, TAPE_SHARES[0], 1.0) - TAPE_SHARES[0]) / step
    below = np.minimum(place.astype(np.int64), len(TAPE_SHARES) - 2)
    form = np.arange(len(t.tape))
    low, high = t.grams[form, below], t.grams[form, below + 1]
    return low + (place - below)[..., None, None] * (high - low)


def _margins(grams: Array, work, load: Array) -> tuple[Array, Array, Array]:
    """5 %, 50 % and 95 % of capacity (last axis: quantiles) times workmanship over the weight."""
    low, mid, high = grams[..., 0], grams[..., 1], grams[..., 2]
    middle = mid * work.mid / load
    return (
        combined(middle, low / mid, work.low / work.mid),
        middle,
        combined(middle, high / mid, work.high / work.mid),
    )


def _choose(t: _Table, usable: Flags, low: Array, high: Array, *, needs_flat: Flags) -> NDArray[np.int64]:
    """The form of each version, by the three steps above."""
    may = usable & (high >= 1)
    floor = np.where(may, t.floor, len(FLOORS)).min(axis=1)[:, None]
    here = may & (t.floor == floor)
    plain = np.where(needs_flat[:, None] & t.ridge, t.plain.max() + 1, t.plain)
    score = np.where(here, np.log(low), -np.inf)
    score = np.where(here & (low >= 1), score + 100.0 * (t.plain.max() + 2 - plain), score)
    # Nothing may hold it: the form that comes closest.
    return np.where(may.any(axis=1), score.argmax(axis=1), np.where(usable, high, 0.0).argmax(axis=1))


def _typical(t: _Table, usable: Flags, centre: Array, band: Band) -> Array:
    """Capacity at the centre [g] of a typical build: the best form with sticks or, if better, what paper alone gives.

    Paper alone is a mean over groups: of those who think of it, half fold and half roll, each the best of its kind that
    the paper allows; the rest lay a plain flat sheet. Starting guess.
    """

    def best(of: Flags) -> Array:
        return np.where(usable & of, centre, 0.0).max(axis=1)

    flat = best(t.flat_sheet)
    known = (np.maximum(best(t.folded), flat) + np.maximum(best(t.rolls), flat)) / 2
    share = KNOWS_TO_ROLL[band]
    return np.maximum(best(t.rigid > 0), share * known + (1 - share) * flat)


def load_statement(check: LoadCheck, i: int, *, units: Units = "metric") -> Statement:
    """Version `i` in one sentence. It tells what could be, never what was seen."""
    form, weight = forms()[check.form[i]], mass(float(check.load_g[i]), units)
    low, mid, high = (float(m[i]) for m in (check.margin_low, check.margin_mid, check.margin_high))
    off = bool(check.off_centre[i])
    place = "at the weakest tested spot" if off else "where its builders choose" if check.builders_choose[i] else (
        "at the marked spot"
    )  # fmt: skip
    numbers = {
        "form": form.id,
        "weight_g": float(check.load_g[i]),
        "margin_low": round(low, 2),
        "margin": round(mid, 2),
        "margin_high": round(high, 2),
        "fails_first": capacity(form, check.materials).fails_first(float(check.tape_share[i]), off_centre=off),
        "sticks_needed": form.rigid,
        "sheets_needed": form.sheets,
        "tape_needed_cm": form.tape_cm,
    }
    if not check.can_be_made[i]:
        return Statement("This kit makes none of the forms that are computed here.", numbers)
    first = f"{numbers['fails_first']} first"
    own = told_of(check.materials, sticks=form.rigid > 0, paper=form.paper_carries, units=units)
    if check.verdict[i] == CLEAR:
        idea = ", if a group thinks of rolling or folding paper" if form.paper_carries else ""
        times = f"{_from_to(low, high)} times {weight}"
        text = f"A carefully made {form.label} could hold about {times} {place}{idea}; {first}."
    elif check.verdict[i] == UNCERTAIN:
        text = (
            f"A {form.label} could hold from {_from_to(low, high)} times {weight} {place}, "
            f"by how well it is made; {first}."
        )
    else:
        text = f"Even well made, a {form.label} would hold at most {high:.1f} times {weight} {place}; {first}."
    return Statement(f"{text} Worked out for {own}." if own else text, numbers)


def _from_to(low: float, high: float) -> str:
    """Two figures under 2, whole numbers above, and one number where both round alike."""
    said = [f"{x:.0f}" if x >= 1.95 else f"{x:.1f}".removesuffix(".0") for x in (low, high)]
    return said[0] if said[0] == said[1] else " to ".join(said)
