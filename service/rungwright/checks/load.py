"""Can a build of this kit hold the weight, and which forms could?"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Literal

from rungwright.checks import fields
from rungwright.checks.forms import Kit, Rated, best_few, option, rated, shelter, structure
from rungwright.checks.quantities import MASS, shown
from rungwright.checks.refuge import refuge_columns
from rungwright.checks.result import Amount, InputError, Outcome, amount
from rungwright.domain.build import Build
from rungwright.domain.grades import Band
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure.form import Form
from rungwright.measure.forms import forms
from rungwright.measure.load import load_check
from rungwright.measure.measured import told_of
from rungwright.measure.other_shelters import other_shelters
from rungwright.measure.quantiles import Materials, material_points
from rungwright.measure.room import figures_in
from rungwright.measure.shape import build_of
from rungwright.measure.spans import LONGEST_MM, SHORTEST_MM, spans
from rungwright.measure.structure import Structure
from rungwright.measure.towers import HIGHEST_MM, LOWEST_MM, towers

Weight = fields.mass(1, 20_000, "the weight")
Family = fields.choice(Literal["shelter", "span", "tower"], "what is built")
BandWord = fields.choice(Literal["K-2", "3-5", "6-8", "9-12"], "grade band of the builders")
Sticks = fields.count(0, 500, "craft sticks")
Sheets = fields.count(0, 200, "sheets of copy paper")
Tape = fields.length(0, 20_000, "masking tape")
Glue = fields.choice(bool, "white glue, with a night to dry")
Spots = fields.count(1, 3, "spots where the weight is tested")
Place = fields.choice(Literal["builder", "marked", "drawn", "tester"], "who chooses the spot")
ItemWord = fields.choice(Literal["bag", "can", "bottle"], "what the weight is")
Figures = fields.count(1, 12, "figures that a refuge must hold")
Room = fields.choice(Literal["lying", "own_50mm", "own_70mm", "own_100mm"], "room for each figure")
FigureHeight = fields.length(20, 200, "height of a figure")
Gap = fields.length(SHORTEST_MM, LONGEST_MM, "gap under a bridge")
Height = fields.length(LOWEST_MM, HIGHEST_MM, "height of a tower")
StickThickness = fields.length(0.5, 6, "thickness of the sticks, measured", ranged=True)
PaperThickness = fields.length(0.03, 0.5, "thickness of the paper, measured", ranged=True)
Friction = fields.plain_range(0.02, 1.5, "friction of the feet, measured")
Wet = fields.choice(bool, "whether the build has been rained on")
EveryForm = fields.choice(bool, "every reference form listed, not only those that matter most")

_ROOM = "Fewer figures, less room for each, or lower figures."
_PLACES = {"builder": "where its builders choose", "marked": "at the marked spot"}


def check(
    *,
    mass: Weight,
    family: Family = "shelter",
    band: BandWord = "3-5",
    sticks: Sticks = 12,
    sheets: Sheets = 5,
    tape: Tape = 800.0,
    glue: Glue = False,
    spots: Spots = 1,
    place: Place = "builder",
    item: ItemWord = "bag",
    figures: Figures = 3,
    room: Room = "lying",
    figure_height: FigureHeight = 75.0,
    gap: Gap | None = None,
    height: Height | None = None,
    stick_thickness: StickThickness | None = None,
    paper_thickness: PaperThickness | None = None,
    friction: Friction | None = None,
    wet: Wet = False,
    every_form: EveryForm = False,
    units: Units = "both",
) -> Outcome:
    """The form that a group would build, what it bears, and other reference forms beside it.

    Parameters: `mass` [g]; `tape` and other lengths [mm]. A refuge's form is the one that a recommendation draws, see
    `measure.load`; what was measured counts in both. Raises InputError where a bridge has no gap or a tower no height.
    """
    given = {"stick_thickness": stick_thickness, "paper_thickness": paper_thickness, "friction": friction}
    materials = tuple(sorted((name, *ends) for name, ends in given.items() if ends is not None))
    kit = Kit(sticks, sheets, tape / 10, glue)
    grade_band = Band(band)
    drawn = None
    if family == "shelter":
        cols = refuge_columns(
            rigid_pieces=sticks, sheets=sheets, joiner_length_cm=tape / 10, load_mass_g=mass, load_positions=spots,
            load_place=place, load_item=item, figure_count=figures, room_each=room,
        )  # fmt: skip
        found = load_check(cols, grade_band, figure_height_mm=figure_height, materials=materials)
        off = bool(found.off_centre[0])
        drawn = forms()[found.form[0]].id if found.holds_figures[0] else None
        candidates = [
            shelter(form, materials, tape_cm=tape / 10, off_centre=off, item=item)
            for form in (*forms(), *other_shelters())
            if figures_in(form, room, figure_height_mm=figure_height) >= figures
        ]
    else:
        off = spots > 1 or place in ("drawn", "tester")
        m = material_points(materials)
        candidates = [structure(s, m, tape_cm=tape / 10, off_centre=off) for s in _structures(family, gap, height)]
    where = "at the weakest tested spot" if off else _PLACES[place]
    listed = rated(candidates, kit, band=grade_band, mass_g=mass, wet=wet)
    made = [r for r in listed if not r.lacks]
    best = next((r for r in made if r.candidate.id == drawn), made[0] if made else None)
    build = partial(build_of, figures=figures, room=room, figure_height_mm=figure_height, spots=spots, off_centre=off)
    return _outcome(
        best, listed, mass, where=where, wet=wet, materials=materials, every=every_form, build=build, units=units
    )


def _structures(family: str, gap: float | None, height: float | None) -> tuple[Structure, ...]:
    if family == "span":
        if gap is None:
            raise InputError("gap", "is needed for a bridge, such as 250 mm or 10 in")
        return spans(gap)
    if height is None:
        raise InputError("height", "is needed for a tower, such as 300 mm or 12 in")
    return towers(height)


def _outcome(
    best: Rated | None, listed: list[Rated], mass: float, *, where: str, wet: bool, materials: Materials, every: bool,
    build: Callable[[Form], Build], units: Units,
) -> Outcome:  # fmt: skip
    weight = shown(mass, MASS, units)
    clear = [r for r in listed if r.verdict == Verdict.CLEAR]
    soft = next((r for r in clear if r.candidate.soft_only), None)
    near = None
    if best is None:
        verdict = Verdict.NOT_FEASIBLE
        value = amount("bears", "what it bears", 0.0, MASS, units)
        text = f"This kit makes none of the forms that are computed here, so nothing is said to hold {weight}."
        if not listed:
            text = "None of the forms that are computed here has that room for so many figures."
    else:
        form, verdict = best.candidate, best.verdict
        value = amount("bears", "a build of this band bears", best.bears, MASS, units)
        subject, bears = _subject(form.label)
        text = {
            Verdict.CLEAR: f"{subject} {bears} {value.text} {where}, so {weight} is within reach.",
            Verdict.UNCERTAIN: f"{subject} {bears} {value.text} {where}: {weight} depends on how well it is made.",
            Verdict.NOT_FEASIBLE: f"{subject} {bears} {value.text} {where}, less than {weight}.",
        }[verdict] + f" What gives way first: {form.fails_first}."
        own = told_of(materials, sticks=form.sticks > 0, paper=form.paper_carries, units=units)
        text += f" Worked out for {own}." if own else ""
    if verdict != Verdict.CLEAR:
        near = min(clear, key=lambda r: (len(r.lacks), r.candidate.sticks + r.candidate.sheets), default=None)
    amounts = [] if best is None else [_margin(best, mass)]
    if best is not None and not best.candidate.soft_only and soft:
        more = f" It would need {' and '.join(soft.lacks)}." if soft.lacks else ""
        text += f" With paper and tape alone it can be done by {_named(soft.candidate.label)} "
        text += f"({soft.candidate.sheets} sheets).{more}"
    told = listed if every else best_few(listed, best, soft, near)
    measured = [name for name, *_ in materials]
    return Outcome(
        verdict=verdict,
        text=text,
        value=value,
        amounts=amounts,
        forms=[option(r, units, build) for r in told],
        forms_left=len(listed) - len(told),
        mend=[] if verdict == Verdict.CLEAR else _mend(near) if listed else [_ROOM],
        care=[
            "Add the weight slowly from a low height over a tray, fingers and feet clear.",
            "Eye protection where sticks or bands may snap.",
        ],
        not_covered=[
            "Forms other than those listed, and builds that mix them; joints of other kinds than tape or glue.",
            *(["How wet tape and wet sticks hold; only the loss of wet paper is counted."] if wet else []),
        ],
        sources=[
            ("wood_handbook", "stiffness and strength of birch sticks", "second_hand"),
            ("paper_data_sheet", "stiffness and strength of paper", "found"),
            ("tape_data_sheet", "peel of masking tape; its shear is a starting guess", "from_memory"),
            ("euler_columns", "buckling and simple beams", "found"),
            (
                "starting_guess",
                "what a build of a band reaches of an ideal one; how a sheet hangs; glue",
                "starting_guess",
            ),
            ("wet_paper_straws", "wet paper loses 70 to 90 % of its compressive strength", "found"),
            *([("own_arithmetic", "measured here: " + ", ".join(measured), "derived")] if measured else []),
        ],
    )


_MANY = ("two", "three", "four", "six")


def _named(label: str) -> str:
    """With its article, where it is one."""
    return label if label.split()[0] in _MANY else f"a {label}" if label[0] not in "aeiou" else f"an {label}"


def _subject(label: str) -> tuple[str, str]:
    """A form at the start of a sentence, and its verb."""
    named = _named(label)
    return named[:1].upper() + named[1:], "bear" if named == label else "bears"


def _margin(of: Rated, mass: float) -> Amount:
    return amount("margin", "what it bears over the weight", of.bears / mass, "times")


def _mend(near: Rated | None) -> list[str]:
    if near is None:
        return ["A lighter weight, a spot that the builders choose, or another form."]
    form = near.candidate
    counts = ((form.sticks, "sticks"), (form.sheets, "sheets"))
    takes = [f"{n} {noun}" for n, noun in counts if n] + [f"{form.tape_cm:g} cm of tape"]
    return [f"{_subject(form.label)[0]}: {', '.join(takes)}."]
