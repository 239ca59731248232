"""A ladder checked: every rung measured for its grades, every step explained, and what is to be mended."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain import recommendation as out
from rungwright.domain.grades import GRADE_CODES, grade_number, grades_said
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_report import (
    BrokenLimit,
    LadderProblem,
    LadderReport,
    RungChange,
    RungReport,
    SaidSetting,
    Suits,
)
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units
from rungwright.ladders.climb import LEAST_CHANGE, MOST_CHANGES, STEP
from rungwright.ladders.frame import Frame, Placed, for_rung, opened, placed, scale_of
from rungwright.ladders.steps import changes, new_demand
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend.measuring import HARD, Measured
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.rulebase import CompiledRules
from rungwright.rulebase.words import say_setting

TARGET = 0.80
"""Share of groups at which a rung suits a grade best: the middle of an ask's target, the same planning choice."""


@dataclass(frozen=True)
class Checked:
    """A ladder with everything that is worked out about it once; every list goes by the rungs."""

    frame: Frame
    ladder: Ladder
    scale: Placed
    demand: NDArray[np.float64]
    classes: list[Placed]
    measured: list[Measured]


def checked(ladder: Ladder, rules: CompiledRules, units: Units, at: str = "/ladder") -> Checked:
    """Raises RequestProblem with every name or value that is wrong, at its pointer below `at`."""
    frame = opened(ladder, rules, units, at)
    scale = scale_of(frame, ladder.scale_grade, ladder.usual, ladder.same)
    classes = [for_rung(frame, ladder, rung) for rung in ladder.rungs]
    measured = [
        where.measure(where.columns([rung.settings])) for where, rung in zip(classes, ladder.rungs, strict=True)
    ]
    demand = scale.demand(scale.columns([rung.settings for rung in ladder.rungs]))
    return Checked(frame, ladder, scale, demand, classes, measured)


def report(ladder: Ladder, rules: CompiledRules, units: Units = "metric", at: str = "/ladder") -> LadderReport:
    """Everything about a ladder. Raises RequestProblem as `checked`."""
    return told(checked(ladder, rules, units, at))


def told(c: Checked) -> LadderReport:
    ladder, frame = c.ladder, c.frame
    suited = _suited(c)
    rungs = []
    for i, rung in enumerate(ladder.rungs):
        steps: list[RungChange] = []
        if i:
            below = ladder.rungs[i - 1]
            steps = changes(frame, c.scale, c.classes[i], below.settings, rung.settings, "harder")
        rungs.append(_rung(c, i, steps, suited[i]))
    problems = list(_problems(c, rungs))
    return LadderReport(
        challenge=frame.challenge.label,
        standing=standing(ladder),
        sound=not any(p.must for p in problems),
        scale=f"Demand is that of a usual class of {grades_said([ladder.scale_grade])}.",
        same=[said(frame, lever, value) for lever, value in ladder.same.items()],
        locked=frame.plan.locked,
        first_run=ladder.first_run,
        rungs=rungs,
        problems=problems,
    )


def said(frame: Frame, lever: str, value: Setting) -> SaidSetting:
    spec = frame.levers[lever]
    return SaidSetting(lever=lever, label=spec.label, value=value, text=say_setting(spec, value, frame.units))


def standing(ladder: Ladder) -> str:
    if ladder.published:
        return f"Version {ladder.version}, published on {ladder.published.on.isoformat()} by {ladder.published.by}."
    return f"Draft after version {ladder.version}." if ladder.version else "Draft, not published yet."


def _rung(c: Checked, i: int, steps: Sequence[RungChange], grades: list[str]) -> RungReport:
    rung, frame, where = c.ladder.rungs[i], c.frame, c.classes[i]
    agreed = rung.agreed
    label = agreed and f"Agreed by {agreed.by}"
    return RungReport(
        id=rung.id,
        number=i + 1,
        name=rung.name,
        grades=rung.grades,
        settings=[said(frame, lever, rung.settings[lever]) for lever in frame.climbing],
        demand=round(float(c.demand[i]), 4),
        step=round(float(c.demand[i] - c.demand[i - 1]), 4) if i else None,
        new_demand=new_demand(frame, steps, where.case.section.band),
        changes=list(steps),
        suits=Suits(grades=grades, text=_suits_text(grades, rung.grades)),
        checks=c.measured[i].results(),
        limits=[
            BrokenLimit(rule=limit.rule, text=limit.text)
            for limit, bad in where.broken(where.columns([rung.settings]))
            if bad[0]
        ],
        pinned=rung.pinned,
        agreed=agreed,
        basis=[
            out.Basis(
                source="agreement",
                label=label,
                locator=agreed.on.isoformat(),
                kind="agreed_here",
                supports=agreed.text,
            )
        ]
        if agreed
        else [],
    )


def _suits_text(grades: Sequence[str], meant_for: Sequence[str]) -> str:
    if not grades:
        whose = "a usual class of this grade" if len(meant_for) == 1 else "usual classes of these grades"
        return f"For {whose} another rung fits better; sections differ, so place them by results."
    return f"Of these rungs, it fits a usual class of {grades_said(grades)} best."


def _suited(c: Checked) -> list[list[str]]:
    """By rung: grades of the ladder whose usual class stands nearest the target here, at its own band's scale."""
    found: list[list[str]] = [[] for _ in c.ladder.rungs]
    rows = [rung.settings for rung in c.ladder.rungs]
    for grade in range(grade_number(c.ladder.low), grade_number(c.ladder.high) + 1):
        section = c.ladder.usual.section("usual class", [GRADE_CODES[grade]])
        where = placed(c.frame, section, c.ladder.same)
        share = where.share(where.columns(rows))
        found[int(np.argmin(np.round(np.abs(share - TARGET), 6)))].append(GRADE_CODES[grade])
    return found


def _problems(c: Checked, rungs: Sequence[RungReport]) -> Iterator[LadderProblem]:
    for i, rung in enumerate(rungs):
        for limit in rung.limits:
            yield LadderProblem(kind="limit", rung=rung.id, must=True, text=limit.text)
        for name in HARD:
            if c.measured[i].verdict(name, 0) == NOT_FEASIBLE:
                yield LadderProblem(kind="check", rung=rung.id, must=True, text=c.measured[i].statement(name, 0).text)
        if rung.name in [other.name for other in rungs[:i]]:
            text = f"Two rungs are called {rung.name}: give one of them another name."
            yield LadderProblem(kind="name", rung=rung.id, must=False, text=text)
        if not i:
            continue
        below = rungs[i - 1]
        if fault := out_of_order(c, i - 1, i):
            yield LadderProblem(kind="order", rung=rung.id, must=True, text=fault)
        elif not STEP[0] - 1e-6 <= rung.step <= STEP[1] + 1e-6:
            size = "small" if rung.step < STEP[0] else "large"
            text = (
                f"The step from {below.name} to {rung.name} is {size}: {rung.step:.2f} in demand, where "
                f"{STEP[0]:.2f} to {STEP[1]:.2f} is even."
            )
            yield LadderProblem(kind="step", rung=rung.id, must=False, text=text)
        for change in rung.changes:
            if change.demand < -1e-6:
                text = f"{change.text.capitalize()}: this makes {rung.name} gentler than the rung below in one way."
                yield LadderProblem(kind="demand_falls", rung=rung.id, must=False, text=text)
            elif change.demand < LEAST_CHANGE - 1e-6:
                text = f"{change.text.capitalize()}: by itself this asks hardly anything more on {rung.name}."
                yield LadderProblem(kind="changes", rung=rung.id, must=False, text=text)
        yield from _too_many(c, rung)


def out_of_order(c: Checked, lower: int, upper: int) -> str | None:
    """Why one rung cannot stand above another; None where it can."""
    if c.demand[upper] > c.demand[lower] + 1e-6:
        return None
    low, high = c.ladder.rungs[lower], c.ladder.rungs[upper]
    return (
        f"{high.name} cannot stand above {low.name}: it asks no more of the groups "
        f"(demand {c.demand[upper]:.2f} against {c.demand[lower]:.2f})."
    )


def _too_many(c: Checked, rung: RungReport) -> Iterator[LadderProblem]:
    if len(rung.changes) > MOST_CHANGES:
        text = f"{rung.name} changes {len(rung.changes)} things at once; up to {MOST_CHANGES} can be told apart."
        yield LadderProblem(kind="changes", rung=rung.id, must=False, text=text)
    by_criterion: dict[str, list[str]] = {}
    for change in rung.changes:
        by_criterion.setdefault(c.frame.plan.climb(change.lever).criterion, []).append(change.label)
    for criterion, labels in by_criterion.items():
        if len(labels) > 1:
            label = c.frame.challenge.criterion(criterion).label
            text = f"{rung.name} takes {len(labels)} steps on {label} at once ({', '.join(labels)})."
            yield LadderProblem(kind="changes", rung=rung.id, must=False, text=text)


def refuse_unless_sound(c: Checked, at: str) -> None:
    """Raises RequestProblem with what must be mended first."""
    must = [p.text for p in told(c).problems if p.must]
    if must:
        raise RequestProblem(FieldProblem(at, text) for text in must)
