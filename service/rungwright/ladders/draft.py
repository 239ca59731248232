"""Draft a ladder: over grades, or around the version that a section has."""

from __future__ import annotations

import hashlib
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rungwright.domain.grades import GRADE_CODES, grade_number, grades_said
from rungwright.domain.ladder import LONGEST_NAME, MOST_RUNGS, Ladder, MadeWith, Rung, UsualClass
from rungwright.domain.ladder_request import DraftPin, LadderDraftRequest
from rungwright.domain.lever import setting_key, tidy
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.ladders.climb import SMALL_STEP, STEP, Climbed
from rungwright.ladders.drawing import Drawing, Spot
from rungwright.ladders.frame import Frame, Placed, frame, middle, placed, pointing
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend.measuring import HARD
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.recommend.resolve import not_allowed
from rungwright.recommend.wording import number_word
from rungwright.rulebase import CompiledRules
from rungwright.rulebase.words import say_setting

LEAST_RUNGS = 4
GRADES_A_RUNG = 2.4
"""Grades that one rung is worth: K to 12 is six rungs; agreed here."""

FEW = 400
"""Settings nearest to a grade's usual ones that tell whether the grade can have a rung at all; agreed here."""

NOW = "As it is now"
"""Name of the rung that a section stands on, in a ladder around it."""


@dataclass(frozen=True)
class Drafted:
    ladder: Ladder
    notes: tuple[str, ...]
    settings_tried: int


def draft(request: LadderDraftRequest, rules: CompiledRules) -> Drafted:
    """Equal requests against an equal rule base give equal ladders.

    Raises RequestProblem where a name is unknown, or no ladder of the asked number of rungs passes the checks.
    """
    made = frame(request.challenge, rules, request.units.value, "/challenge")
    if request.around:
        return _around(request, made)
    problems = list(_wrong_pins(request.pins, made))
    if problems:
        raise RequestProblem(problems)
    return _over_grades(request, made)


def _wrong_pins(pins: Sequence[DraftPin], made: Frame):
    for i, pin in enumerate(pins):
        for name, value in pin.settings.items():
            at = f"/pins/{i}/settings/{name}"
            if name not in made.climbing:
                known = ", ".join(made.climbing)
                yield FieldProblem(at, f"{name!r} does not climb, so no rung can pin it; levers that do: {known}")
            elif not made.levers[name].accepts(value):
                yield not_allowed(at, value, made.levers[name])


def _over_grades(request: LadderDraftRequest, made: Frame) -> Drafted:
    """Each rung is pulled to the presets of its grade and keeps the limits of its grades."""
    low, high = (grade_number(code) for code in request.grades)
    with pointing({"/section": "/usual"}):
        drawing = _drawing(request, made, low, high)
    wanted = request.rungs or _rungs_for(low, high)
    found = _try(request, drawing, low, high, wanted)
    notes: list[str] = []
    if not found and (closed := _closed_grades(drawing, low, high)):
        low, high, notes = _left_open(closed, low, high)
        drawing = _drawing(request, made, low, high)
        wanted = request.rungs or _rungs_for(low, high)
        found = _try(request, drawing, low, high, wanted)
    found = found or _other_count(request, drawing, low, high, wanted, notes)
    name = request.name or f"{made.challenge.label}, {grades_said([GRADE_CODES[g] for g in range(low, high + 1)])}"
    return _ladder(request, drawing, *found, name=name, notes=notes)


def _other_count(
    request: LadderDraftRequest, drawing: Drawing, low: int, high: int, wanted: int, notes: list[str]
) -> tuple[list[Spot], Climbed]:
    """A ladder of another number of rungs, or else of small steps; what was given up is added to `notes`.

    Raises RequestProblem where exactly so many rungs were asked, and where there is none.
    """
    # Where so many are too many, fewer are likelier to be possible than more; but two or three rungs of even steps are
    # no ladder to choose from, so that more of small steps come first.
    others = [*range(wanted - 1, 1, -1), *range(wanted + 1, MOST_RUNGS + 1)]
    enough = range(wanted - 1, LEAST_RUNGS - 1, -1)
    rest = [rungs for rungs in others if rungs not in enough]
    for drawing.least, counts in ((STEP[0], enough), (SMALL_STEP, [wanted, *others]), (STEP[0], rest)):
        for rungs in counts:
            if not (found := _try(request, drawing, low, high, rungs)):
                continue
            small = drawing.least == SMALL_STEP
            if request.rungs and rungs != wanted:
                detail = f"no ladder of {wanted} rungs has even steps and passes every check; one of {rungs} rungs "
                detail += "with small steps does." if small else "does."
                raise RequestProblem([FieldProblem("/rungs", " ".join([detail, *notes]))])
            if small:
                notes.append(_small_steps(low, high))
            if rungs != wanted:
                count = number_word(rungs).capitalize()
                notes.append(f"{count} rungs are what {'these' if small else 'even'} steps allow here.")
            return found
    where = "/pins" if request.pins else "/grades"
    detail = "no ladder of even steps passes every check; widen the grades, take pins away or add materials"
    raise RequestProblem([FieldProblem(where, " ".join([detail + ".", *notes]))])


def _small_steps(low: int, high: int) -> str:
    whose = grades_said([GRADE_CODES[g] for g in range(low, high + 1)])
    return (
        f"Within the limits of {whose}, two changes a rung make only small steps: from {SMALL_STEP:.2f} on the scale "
        f"of demand, where {STEP[0]:.2f} is even."
    )


def _rungs_for(low: int, high: int) -> int:
    return max(LEAST_RUNGS, round((high - low) / GRADES_A_RUNG) + 1)


def _drawing(request: LadderDraftRequest, made: Frame, low: int, high: int) -> Drawing:
    """What is the same everywhere is that of the middle grade, as near as the bands of the span allow."""
    grade = middle(GRADE_CODES[low], GRADE_CODES[high])
    usual = placed(made, request.usual.section("usual class", [grade]), {}).begun.settings
    lowest = [GRADE_CODES[g] for g in (low, 3, 6, 9) if low <= g <= high]
    limited = [placed(made, request.usual.section("usual class", [g]), {}) for g in lowest]
    same = {lever: _allowed_everywhere(made, lever, usual[lever], limited) for lever in made.plan.same}
    scale = placed(made, request.usual.section("usual class", [grade]), same)
    return Drawing(made, request.usual, same, scale, [item for pin in request.pins for item in pin.settings.items()])


def _allowed_everywhere(made: Frame, lever: str, usual: Setting, limited: Sequence[Placed]) -> Setting:
    """The value nearest to the usual one that no section of `limited` is forbidden."""
    spec = made.levers[lever]
    here = spec.position(usual)

    def forbidden(value: Setting) -> bool:
        return any(
            bad[0]
            for where in limited
            for limit, bad in where.broken(where.columns([{lever: value}]))
            if limit.levers == (lever,)
        )

    near = sorted([usual, *spec.settings], key=lambda v: (abs(spec.position(v) - here), spec.position(v)))
    return next((value for value in near if not forbidden(value)), usual)


def _try(
    request: LadderDraftRequest, drawing: Drawing, low: int, high: int, rungs: int
) -> tuple[list[Spot], Climbed] | None:
    """Rungs evenly over the grades; each grade goes to the nearest rung, the lower of two."""
    at = np.linspace(low, high, rungs)
    nearest = {g: int(np.argmin(np.round(np.abs(at - g), 9))) for g in range(low, high + 1)}
    centre = drawing.usual_path((low + high) / 2)
    paths = drawing.climbable(np.array([drawing.usual_path(grade) for grade in at]), centre)
    spots = []
    for i, grade in enumerate(at):
        mine = [g for g, rung in nearest.items() if rung == i] or [int(np.floor(grade + 0.5))]
        pins = {k: v for pin in request.pins if pin.rung == i + 1 for k, v in pin.settings.items()}
        spots.append(Spot(tuple(GRADE_CODES[g] for g in mine), paths[i], pins))
    found = drawing.climbed(spots)
    return (spots, found) if found else None


def _closed_grades(drawing: Drawing, low: int, high: int) -> dict[int, str]:
    """Grades for which no settings pass, with what keeps them from it."""
    told = {}
    for grade in range(low, high + 1):
        spot = Spot((GRADE_CODES[grade],), drawing.usual_path(grade))
        where = drawing.class_of(spot)
        if not drawing.is_open(spot, where, most=FEW):
            told[grade] = _why_closed(drawing, spot, where)
    return told


def _why_closed(drawing: Drawing, spot: Spot, where: Placed) -> str:
    """The limit that every setting near the usual ones breaks; else the check that the nearest one fails."""
    cells = drawing.near(spot)
    limits = where.broken(drawing.columns(where, cells))
    if every := next((limit for limit, bad in limits if bad.all()), None):
        return every.text
    kept = cells[~drawing.limited(where, cells)]
    measured = where.measure(drawing.columns(where, kept[:1] if len(kept) else cells[:1]))
    failed = next((name for name in HARD if measured.checks[name].verdict[0] == NOT_FEASIBLE), None)
    return measured.statement(failed, 0).text if failed else "No settings keep all the limits together."


def _left_open(closed: Mapping[int, str], low: int, high: int) -> tuple[int, int, list[str]]:
    """The longest run of grades that are not closed, and a note for each reason why others are."""
    runs: list[list[int]] = [[]]
    for grade in range(low, high + 1):
        if grade in closed:
            runs.append([])
        else:
            runs[-1].append(grade)
    kept = max(runs, key=len)
    if not kept:
        detail = f"no grade of the span has a version that passes. {next(iter(closed.values()))}"
        raise RequestProblem([FieldProblem("/usual", detail)])
    told: dict[str, list[str]] = {}
    for grade in range(low, high + 1):
        if grade not in kept:
            told.setdefault(closed.get(grade, "Grades beside it have none."), []).append(GRADE_CODES[grade])
    return kept[0], kept[-1], [f"There is no rung for {grades_said(grades)}. {why}" for why, grades in told.items()]


def _around(request: LadderDraftRequest, made: Frame) -> Drafted:
    """Each rung keeps that section's limits. The two sides share only its version, so each is drafted by itself."""
    asked, section = request.around, request.around.section
    usual = UsualClass(**{name: getattr(section, name) for name in UsualClass.model_fields})
    with pointing({"/section": "/around/section", "/settings": "/around/settings"}):
        now = placed(made, usual.section(section.label, section.grades), asked.settings).begun.settings
    same = {lever: now[lever] for lever in sorted({*made.plan.same, *asked.settings} - set(made.climbing))}
    mine = {lever: tidy(now[lever]) for lever in made.climbing}
    grade = GRADE_CODES[int(np.floor(section.grade_mid + 0.5))]
    scale = placed(made, usual.section("usual class", [grade]), same)
    drawing = Drawing(made, usual, same, scale, list(mine.items()), now=mine)
    below, down, small_below = _side(drawing, section, -1, asked.easier)
    above, up, small_above = _side(drawing, section, 1, asked.harder)
    if len(below) + len(above) == 2:
        spot = below[0]
        where = drawing.class_of(spot)
        why = "" if drawing.is_open(spot, where, most=FEW) else f"{_why_closed(drawing, spot, where)} "
        detail = (
            "no version a step above or below this one keeps the section's limits and passes every check. "
            f"{why}Ask for easier or harder as a recommendation instead."
        )
        raise RequestProblem([FieldProblem("/around", detail)])
    notes = [*_side_notes(drawing, -1, asked.easier, len(below) - 1, small=small_below)]
    notes += _side_notes(drawing, 1, asked.harder, len(above) - 1, small=small_above)
    name = request.name or f"{made.challenge.label}, around {section.label}"[:60]
    spots, found = [*below, *above[1:]], Climbed((*down.cells, *up.cells[1:]), down.cost + up.cost)
    return _ladder(request, drawing, spots, found, name=name, notes=notes)


def _side(drawing: Drawing, section: Section, sign: int, rungs: int) -> tuple[list[Spot], Climbed, bool]:
    """One side of the version there is, and whether its steps are small: where that gives more rungs."""
    drawing.least = STEP[0]
    even = _longest(drawing, section.grades, section.grade_mid, sign, rungs)
    if len(even[0]) > rungs:
        return *even, False
    drawing.least = SMALL_STEP
    small = _longest(drawing, section.grades, section.grade_mid, sign, rungs)
    return (*small, True) if len(small[0]) > len(even[0]) else (*even, False)


def _side_notes(drawing: Drawing, sign: int, wanted: int, got: int, *, small: bool) -> Iterator[str]:
    way = "harder" if sign > 0 else "gentler"
    if small:
        yield (
            f"The {way} rungs are small steps, from {SMALL_STEP:.2f} on the scale of demand, where {STEP[0]:.2f} is "
            "even: two changes a rung do no more within the limits of this section."
        )
    if got < wanted:
        count = f"No {way} rung" if got == 0 else f"Only {number_word(got)} {way} rung{'s' if got > 1 else ''}"
        yield f"{count} instead of {number_word(wanted)}: {_why_no_more(drawing, sign, got, way)}"


def _why_no_more(drawing: Drawing, sign: int, got: int, way: str) -> str:
    at = drawing.space.positions(np.array([drawing.cell(drawing.now)]))[0]
    end = np.array(drawing.space.sizes) - 1 if sign > 0 else np.zeros_like(at)
    if not got and (at == end).all():
        return f"every lever of the ladder is at its {way[:-2]}est already."
    return "a further step breaks a limit, fails a check or is too small to be one for this section."


def _longest(
    drawing: Drawing, grades: Sequence[str], grade: float, sign: int, rungs: int
) -> tuple[list[Spot], Climbed]:
    """As many rungs as there can be, up to `rungs`, on one side of the version there is; gentlest first."""
    fixed = drawing.cell(drawing.now)
    here = drawing.space.positions(np.array([fixed]))[0].astype(float)
    for count in range(rungs, 0, -1):
        steps = sorted(sign * i for i in range(count + 1))
        usual = np.array([drawing.usual_path(grade + GRADES_A_RUNG * i) for i in steps])
        paths = drawing.climbable(here + usual - drawing.usual_path(grade), here)
        spots = [
            Spot(tuple(grades), path, fixed=fixed if i == 0 else None) for i, path in zip(steps, paths, strict=True)
        ]
        if found := drawing.climbed(spots):
            return spots, found
    return [Spot(tuple(grades), here, fixed=fixed)], Climbed((fixed,), 0.0)


def _ladder(
    request: LadderDraftRequest, drawing: Drawing, spots: Sequence[Spot], found: Climbed, *, name: str, notes: list[str]
) -> Drafted:
    made, base = drawing.made, drawing.made.rules.base
    rungs: list[Rung] = []
    for i, (spot, cell) in enumerate(zip(spots, found.cells, strict=True)):
        settings = drawing.settings(cell)
        given = next((pin.name for pin in request.pins if pin.rung == i + 1 and pin.name), None)
        below = rungs[-1].settings if rungs else None
        usual = NOW if spot.fixed is not None else rung_name(drawing.scale, made, below, settings)
        rungs.append(
            Rung(
                id=f"r{i + 1}",
                name=given or usual,
                grades=list(spot.grades),
                settings=settings,
                pinned=sorted(spot.pins),
            )
        )
    digest = hashlib.sha256(request.model_dump_json().encode()).hexdigest()[:12]
    ladder = Ladder(
        id=f"{made.challenge.id}_{digest}",
        name=name,
        challenge=made.challenge.id,
        scale_grade=drawing.scale.case.section.grades[0],
        usual=drawing.usual,
        same=dict(drawing.same),
        rungs=rungs,
        made_with=MadeWith(version=base.version, digest=base.digest),
    )
    return Drafted(ladder, tuple(notes), drawing.tried)


def rung_name(scale: Placed, made: Frame, below: Mapping[str, Setting] | None, settings: Mapping[str, Setting]) -> str:
    """That of the change that adds most demand by itself; of the first rung, the plan's own."""
    changed = [lever for lever in settings if below is not None and settings[lever] != below[lever]]
    if not changed:
        return made.plan.first.name
    alone = np.round(scale.demand(scale.columns([{**below, lever: settings[lever]} for lever in changed])), 6)
    lever = changed[int(np.argmax(alone))]
    ask = made.plan.climb(lever).asks.get(setting_key(settings[lever]))
    if ask:
        return ask.name
    spec = made.levers[lever]
    said = f"{spec.label.capitalize()}: {say_setting(spec, settings[lever], made.units)}"
    return textwrap.shorten(said, LONGEST_NAME, placeholder=" …")
