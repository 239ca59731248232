"""What a ladder stands on: its challenge, its levers, and each rung as a case that can be measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.challenge import Challenge
from rungwright.domain.climb import ClimbPlan
from rungwright.domain.grades import GRADE_CODES, grade_number
from rungwright.domain.ladder import Ladder, Rung, UsualClass
from rungwright.domain.lever import Lever
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units
from rungwright.measure.columns import Columns, columns
from rungwright.readiness.outcome import Versions, demand, share_all
from rungwright.recommend.facts import now_fact, rounded, section_fact
from rungwright.recommend.infer import limits_of
from rungwright.recommend.limits import Limit, Limits, start_places
from rungwright.recommend.measuring import Measured, measure_columns
from rungwright.recommend.model import Model, build_model, checks_of, parts_of, versions_of
from rungwright.recommend.problem import FieldProblem, RequestProblem, unknown
from rungwright.recommend.resolve import Case, not_allowed, resolve
from rungwright.recommend.start import Start, start
from rungwright.rulebase import CompiledRules


@dataclass(frozen=True)
class Frame:
    """A challenge with its plan for ladders."""

    rules: CompiledRules
    challenge: Challenge
    plan: ClimbPlan
    units: Units = "metric"

    @property
    def levers(self) -> Mapping[str, Lever]:
        return self.rules.base.levers

    @property
    def climbing(self) -> list[str]:
        return [climb.lever for climb in self.plan.climbs]


@dataclass(frozen=True)
class Placed:
    """A section at some settings: the rest fitted to it, its limits, its model."""

    case: Case
    begun: Start
    model: Model
    limits: Limits

    @property
    def held(self) -> set[str]:
        """Levers that do not move toward harder for this section."""
        return {lever for limit in self.limits.limits if limit.towards == "harder" for lever in limit.levers}

    def row(self, settings: Mapping[str, Setting]) -> dict[str, Setting]:
        return {**self.begun.settings, **settings}

    def columns(self, rows: Sequence[Mapping[str, Setting]]) -> Columns:
        """Settings that differ from those of the section only where `rows` say so."""
        return columns(self.case.levers, [self.row(row) for row in rows])

    def measure(self, cols: Columns) -> Measured:
        return measure_columns(self.case, self.model, cols)

    def demand(self, cols: Columns) -> NDArray[np.float64]:
        """What `measure` gives as demand, without the checks on time, kit and adults."""
        return demand(self.case.prior, self._versions(cols))

    def share(self, cols: Columns) -> NDArray[np.float64]:
        """What `measure` gives as share, without those checks."""
        return share_all(self.case.prior, self.model.ready, self._versions(cols))

    def _versions(self, cols: Columns) -> Versions:
        moved = parts_of(self.case, cols, checks_of(self.case, cols)) - self.model.zero
        return versions_of(self.case, cols, moved)

    def broken(self, cols: Columns, among: Sequence[Limit] | None = None) -> list[tuple[Limit, NDArray[np.bool_]]]:
        """Limits about settings as such, and where each is broken; those on moves are left out."""
        asked = self.limits.limits if among is None else among
        places = start_places(self.case.levers, self.begun.settings)
        return [(limit, limit.broken(cols, places)) for limit in asked if not limit.towards]


def frame(challenge: str, rules: CompiledRules, units: Units, at: str) -> Frame:
    """Raises RequestProblem at the pointer `at` for a challenge that is unknown or has no plan for ladders."""
    base = rules.base
    if challenge not in base.challenges:
        raise RequestProblem([unknown(at, "challenge", challenge, base.challenges)])
    if challenge not in base.ladders:
        known = ", ".join(sorted(base.ladders))
        raise RequestProblem([FieldProblem(at, f"{challenge!r} has no plan for ladders; there is one for {known}")])
    return Frame(rules, base.challenges[challenge], base.ladders[challenge], units)


def placed(frame: Frame, section: Section, settings: Mapping[str, Setting], runs: Sequence[Run] = ()) -> Placed:
    """Raises RequestProblem with pointers as in a request for a recommendation."""
    request = RecommendationRequest(
        challenge=frame.challenge.id, section=section, settings=dict(settings), runs=list(runs), units=frame.units
    )
    case = resolve(request, frame.rules)
    begun = start(case)
    case = replace(case, banned=begun.banned)
    model = build_model(case, begun.settings)
    facts = [rounded(section_fact(case)), now_fact(case, begun.settings)]
    limits = limits_of(case, frame.rules.infer(facts, frame.challenge.family))
    return Placed(case, begun, model, limits)


@contextmanager
def pointing(places: Mapping[str, str]) -> Iterator[None]:
    """Problems told where the caller wrote the field: prefixes of pointers are replaced."""
    try:
        yield
    except RequestProblem as error:
        raise RequestProblem(FieldProblem(_moved(p.pointer, places), p.detail) for p in error.problems) from None


def _moved(pointer: str, places: Mapping[str, str]) -> str:
    for old, new in places.items():
        if pointer == old or pointer.startswith(old + "/"):
            return new + pointer[len(old) :]
    return pointer


def opened(ladder: Ladder, rules: CompiledRules, units: Units, at: str = "/ladder") -> Frame:
    """The frame of a ladder whose names are all known. Raises RequestProblem with every field that is wrong."""
    made = frame(ladder.challenge, rules, units, f"{at}/challenge")
    problems = []
    levers = {name: made.levers[name] for preset in made.challenge.presets.values() for name in preset}
    for name in ladder.same:
        if name in made.climbing:
            problems.append(FieldProblem(f"{at}/same/{name}", f"{name} climbs, so it belongs to the rungs"))
    for name in made.plan.same:
        if name not in ladder.same:
            problems.append(FieldProblem(f"{at}/same", f"{name} is the same on every rung: give its value"))
    for i, rung in enumerate(ladder.rungs):
        problems += _of_rung(f"{at}/rungs/{i}", rung, made, ladder, levers)
    problems += _values(f"{at}/same", ladder.same, levers)
    if problems:
        raise RequestProblem(problems)
    with pointing({"/section": f"{at}/usual", "/settings": f"{at}/same"}):
        placed(made, ladder.usual.section(ladder.name, [ladder.scale_grade]), ladder.same)
    return made


def _of_rung(at: str, rung: Rung, made: Frame, ladder: Ladder, levers: Mapping[str, Lever]) -> Iterator[FieldProblem]:
    for name in rung.settings:
        if name in ladder.same or name in made.plan.same:
            yield FieldProblem(f"{at}/settings/{name}", f"{name} is the same on every rung, so no rung sets it")
        elif name in levers and name not in made.climbing:
            yield FieldProblem(
                f"{at}/settings/{name}", f"{name} does not climb: it is the teacher's own, or belongs to `same`"
            )
    for name in made.climbing:
        if name not in rung.settings:
            yield FieldProblem(f"{at}/settings", f"{name} climbs, so every rung sets it")
    yield from _values(f"{at}/settings", rung.settings, levers)


def _values(at: str, settings: Mapping[str, Setting], levers: Mapping[str, Lever]) -> Iterator[FieldProblem]:
    for name, value in settings.items():
        if name not in levers:
            yield unknown(f"{at}/{name}", "lever", name, levers)
        elif not levers[name].accepts(value):
            yield not_allowed(f"{at}/{name}", value, levers[name])


def for_rung(frame: Frame, ladder: Ladder, rung: Rung) -> Placed:
    """The usual class of the grades that a rung is meant for, at the rung's settings."""
    return placed(frame, ladder.usual.section(rung.name, rung.grades), {**ladder.same, **rung.settings})


def scale_of(frame: Frame, grade: str, usual: UsualClass, same: Mapping[str, Setting]) -> Placed:
    """The usual class on whose scale demand is measured."""
    return placed(frame, usual.section("scale", [grade]), same)


def middle(low: str, high: str) -> str:
    """The grade in the middle of two, the lower of two middles."""
    return GRADE_CODES[(grade_number(low) + grade_number(high)) // 2]
