"""Sections on the rungs of a ladder: where each stands and why, one rung up or down, results pooled by rung."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import grade_number, grade_said
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_report import (
    GradeSpread,
    LadderPlacement,
    PooledCriterion,
    RungMove,
    RungOutlook,
    RungResults,
    SectionPlace,
)
from rungwright.domain.ladder_request import LadderPlaceRequest, PlacedSection, Taught
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.ladders.frame import Frame, Placed, placed, pointing
from rungwright.ladders.kit import school_kit
from rungwright.ladders.report import Checked, checked
from rungwright.ladders.steps import changes
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.readiness.outcome import Expected
from rungwright.recommend.measuring import HARD, Measured
from rungwright.recommend.problem import RequestProblem, unknown
from rungwright.recommend.summary import evidence_sentence
from rungwright.recommend.wording import about_groups, listed, number_word, outcome_clause, sentence
from rungwright.rulebase import CompiledRules

LEAST_SECTIONS = 3
"""Sections from which results of a rung are shown: fewer would point at one teacher; agreed here."""


@dataclass(frozen=True)
class Standing:
    """One section measured on every rung, and the rung that suits it; every list goes by the rungs."""

    asked: PlacedSection
    wheres: list[Placed]
    measured: list[Measured]
    expected: list[Expected]
    failing: list[list[str]]
    rung: int
    notes: list[str]


def place(request: LadderPlaceRequest, rules: CompiledRules) -> LadderPlacement:
    """Raises RequestProblem with every name that is wrong, at its pointer."""
    c = checked(request.ladder, rules, request.units.value)
    problems = list(_unknown_rungs(request))
    if problems:
        raise RequestProblem(problems)
    standings = []
    for i, asked in enumerate(request.sections):
        at = f"/sections/{i}"
        moved = {f"/runs/{j}": f"{at}/taught/{j}/run" for j in range(len(asked.taught))}
        with pointing({**moved, "/section": f"{at}/section"}):
            standings.append(_standing(c, asked, request.band))
    return LadderPlacement(
        ladder=c.ladder.name,
        sections=[_place(c, standing) for standing in standings],
        results=_results(c, request.sections),
        spread=_spread(c.ladder, standings),
        kit=school_kit(c.frame, c.ladder, [(s.asked, s.wheres, s.rung) for s in standings]),
    )


def _unknown_rungs(request: LadderPlaceRequest):
    known = [rung.id for rung in request.ladder.rungs]
    for i, section in enumerate(request.sections):
        named = [(f"taught/{j}/rung", taught.rung) for j, taught in enumerate(section.taught)]
        named += [("now_on", section.now_on), ("met/rung", section.met and section.met.rung)]
        for at, rung in named:
            if rung is not None and rung not in known:
                yield unknown(f"/sections/{i}/{at}", "rung of this ladder", rung, known)


def rung_of(ladder: Ladder, settings: Mapping[str, Setting]) -> str | None:
    """The rung whose settings these are, those that are the same everywhere included; None where there is none."""
    for rung in ladder.rungs:
        asked = {**ladder.same, **rung.settings}
        if all(settings.get(lever) == value for lever, value in asked.items()):
            return rung.id
    return None


def _run(ladder: Ladder, taught: Taught) -> Run:
    """The run at the settings of its rung, where it does not tell its own."""
    if taught.rung is None:
        return taught.run
    settings = {**ladder.same, **ladder.rung(taught.rung).settings, **(taught.run.settings or {})}
    return taught.run.model_copy(update={"settings": settings})


def _standing(c: Checked, asked: PlacedSection, band: tuple[float, float]) -> Standing:
    ladder, ids = c.ladder, [rung.id for rung in c.ladder.rungs]
    start = ids.index(asked.now_on) if asked.now_on else len(ids) // 2
    runs = [_run(ladder, taught) for taught in asked.taught]
    wheres = _fitted(c, asked, runs, start)
    measured = [w.measure(w.columns([rung.settings])) for w, rung in zip(wheres, ladder.rungs, strict=True)]
    failing = [_failing(w, m) for w, m in zip(wheres, measured, strict=True)]
    outcomes = [m.expected() for m in measured]
    share = np.round([float(m.middle_share[0]) for m in measured], 6)
    rung, notes = _choose(share, failing, band, start if asked.now_on else None, groups=asked.section.groups)
    one_notch = wheres[start].limits.one_notch
    if asked.now_on and one_notch and abs(rung - start) > 1:
        rung = start + int(np.sign(rung - start))
        notes = [one_notch]
    return Standing(asked, wheres, measured, outcomes, failing, rung, notes)


def _fitted(c: Checked, asked: PlacedSection, runs: Sequence[Run], start: int) -> list[Placed]:
    """The section on every rung, its minutes fitted anew only where the tests take another time."""
    clock = sorted({lever for test in c.frame.challenge.tests for lever in test.visit.each})
    by_clock: dict[tuple, Placed] = {}
    for rung in (c.ladder.rungs[start], *c.ladder.rungs):
        key = tuple(rung.settings.get(lever) for lever in clock)
        if key not in by_clock:
            by_clock[key] = placed(c.frame, asked.section, {**c.ladder.same, **rung.settings}, runs)
    # One section has one readiness, whatever the minutes.
    model = next(iter(by_clock.values())).model
    return [
        replace(by_clock[tuple(rung.settings.get(lever) for lever in clock)], model=model) for rung in c.ladder.rungs
    ]


def _failing(where: Placed, measured: Measured) -> list[str]:
    told = [measured.statement(name, 0).text for name in HARD if measured.verdict(name, 0) == NOT_FEASIBLE]
    return told + [limit.text for limit, bad in where.broken(measured.cols) if bad[0]]


def _choose(
    share: NDArray[np.float64],
    failing: Sequence[list[str]],
    band: tuple[float, float],
    now: int | None,
    *,
    groups: int,
) -> tuple[int, list[str]]:
    """The rung that it does now where that is inside the target; else the one inside it, nearest its centre; else the
    one nearest to it. A rung that fails no check comes first.
    """
    low, high = band
    outside = np.maximum(np.maximum(low - share, share - high), 0)
    centre = (low + high) / 2
    order = sorted(range(len(share)), key=lambda i: (bool(failing[i]), outside[i], i != now, abs(share[i] - centre), i))
    rung = order[0]
    notes = []
    if failing[rung]:
        notes.append("No rung passes every check for this section; see what fails.")
    elif outside[rung] * groups >= 0.5:
        # The rungs ask more and more, so the nearest one outside the target is at an end or beside one that fails. Less
        # than half a group is no difference that anybody would see.
        end, fewer, way = ("gentlest", "fewer", "easier") if share[rung] < low else ("hardest", "more", "harder")
        notes.append(
            f"This is the {end} rung that this section can do, and {fewer} groups than the target should meet every "
            f"criterion. Ask for {way} for this section by itself: minutes and what else is the teacher's may help."
        )
    return rung, notes


def _outlook(c: Checked, s: Standing, i: int) -> RungOutlook:
    rung, outcome = c.ladder.rungs[i], s.expected[i]
    groups = s.asked.section.groups
    amount = outcome.all_criteria.share if groups == 1 else outcome.groups
    return RungOutlook(
        rung=rung.id,
        name=rung.name,
        groups=round(outcome.groups, 2),
        groups_likely=outcome.groups_likely,
        text=sentence(f"on {rung.name}, {outcome_clause(amount, groups)}"),
        failing=s.failing[i],
    )


def _place(c: Checked, s: Standing) -> SectionPlace:
    rung, asked = c.ladder.rungs[s.rung], s.asked
    ids = [r.id for r in c.ladder.rungs]
    here = ids.index(asked.now_on) if asked.now_on else s.rung
    last = len(ids) - 1
    return SectionPlace(
        section=asked.section.label,
        grades=asked.section.grades,
        rung=rung.id,
        name=rung.name,
        reason=_reason(c, s),
        evidence=evidence_sentence(s.wheres[s.rung].case),
        now_on=asked.now_on,
        outlooks=[_outlook(c, s, i) for i in range(len(ids))],
        up=_move(c, s, here, here + 1) if here < last else None,
        down=_move(c, s, here, here - 1) if here > 0 else None,
        notes=[*s.notes, *_cohort(c.ladder, s), *_shared_first(c.ladder, asked)],
    )


def _reason(c: Checked, s: Standing) -> str:
    groups = s.asked.section.groups
    text = _outlook(c, s, s.rung).text
    if groups == 1:
        return text
    up, down = s.rung + 1, s.rung - 1
    if up < len(c.ladder.rungs):
        text += f" One rung up, {about_groups(s.expected[up].groups, groups)}."
    if down >= 0:
        text += f" One rung down, {about_groups(s.expected[down].groups, groups)}."
    if s.asked.now_on and s.asked.now_on != c.ladder.rungs[s.rung].id:
        text += f" It is on {c.ladder.rung(s.asked.now_on).name} now."
    return text


def _move(c: Checked, s: Standing, here: int, to: int) -> RungMove:
    rung = c.ladder.rungs[to]
    up = to > here
    made = changes(
        c.frame, c.scale, s.wheres[here], c.ladder.rungs[here].settings, rung.settings, "harder" if up else "easier"
    )
    outlook = _outlook(c, s, to)
    if made:
        told = f"One rung {'up' if up else 'down'}: {'; '.join(change.text for change in made)}."
    else:
        told = f"One rung {'up' if up else 'down'} changes nothing."
    return RungMove(
        rung=rung.id,
        name=rung.name,
        direction="up" if up else "down",
        changes=made,
        outlook=outlook,
        checks=s.measured[to].results(),
        text=f"{told} {outlook.text}",
        settings={**c.ladder.same, **rung.settings},
    )


def _cohort(ladder: Ladder, s: Standing) -> list[str]:
    met = s.asked.met
    if met is None:
        return []
    where = f" on {ladder.rung(met.rung).name}" if met.rung else ""
    notes = [f"Most of this section met the challenge in grade {grade_said(met.grade)}{where}."]
    ids = [rung.id for rung in ladder.rungs]
    if met.rung and s.rung <= ids.index(met.rung):
        notes.append("This rung asks no more than what they met then: think of one rung up.")
    return notes


def _shared_first(ladder: Ladder, asked: PlacedSection) -> list[str]:
    first = ladder.first_run
    if first is None or any(taught.rung == first and not taught.earlier_year for taught in asked.taught):
        return []
    return [f"Not run on {ladder.rung(first).name} this year yet, where every section starts the year."]


def _results(c: Checked, sections: Sequence[PlacedSection]) -> list[RungResults]:
    """By rung, over all sections that ran it; no section is named and none is set against another."""
    found = []
    for rung in c.ladder.rungs:
        runs = [(i, t.run) for i, s in enumerate(sections) for t in s.taught if t.rung == rung.id and t.run.teaches]
        count = len({i for i, _ in runs})
        shown = count >= LEAST_SECTIONS
        pooled = _pooled(c.frame, [run for _, run in runs]) if shown else []
        found.append(
            RungResults(
                rung=rung.id,
                name=rung.name,
                sections=count,
                shown=shown,
                criteria=pooled,
                text=_results_text(c.frame, rung.name, count, pooled),
            )
        )
    return found


def _pooled(frame: Frame, runs: Sequence[Run]) -> list[PooledCriterion]:
    met: dict[str, list[int]] = {}
    for run in runs:
        for criterion, (first, end) in run.tallies().items():
            if tally := end or first:
                entry = met.setdefault(criterion, [0, 0])
                entry[0] += tally.met
                entry[1] += tally.of
    order = [criterion.id for criterion in frame.challenge.criteria]
    return [PooledCriterion(criterion=k, met=met[k][0], of=met[k][1]) for k in order if k in met]


def _results_text(frame: Frame, name: str, sections: int, pooled: Sequence[PooledCriterion]) -> str:
    if sections < LEAST_SECTIONS:
        have = "section has" if sections < 2 else "sections have"
        least = number_word(LEAST_SECTIONS)
        return (
            f"{number_word(sections).capitalize()} {have} results on {name}; they are shown from {least} sections on."
        )
    parts = [f"{p.met} of {p.of} groups {frame.rules.base.met[p.criterion]}" for p in pooled]
    return f"{name}, {number_word(sections)} sections together: {listed(parts)}."


def _spread(ladder: Ladder, standings: Sequence[Standing]) -> list[GradeSpread]:
    """Grades whose sections do different rungs."""
    ids = [rung.id for rung in ladder.rungs]
    by_grade: dict[str, list[int]] = {}
    for s in standings:
        rung = ids.index(s.asked.now_on) if s.asked.now_on else s.rung
        for grade in s.asked.section.grades:
            by_grade.setdefault(grade, []).append(rung)
    found = []
    for grade in sorted(by_grade, key=grade_number):
        rungs = sorted(set(by_grade[grade]))
        if len(rungs) > 1:
            names = listed([f"{ladder.rungs[i].name} ({by_grade[grade].count(i)})" for i in rungs])
            text = (
                f"Sections of grade {grade_said(grade)} stand on different rungs: {names}. Keep it if it is meant so."
            )
            found.append(GradeSpread(grade=grade, rungs=[ids[i] for i in rungs], text=text))
    return found
