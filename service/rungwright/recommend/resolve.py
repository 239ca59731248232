"""From a request to a case: every name looked up in the rule base, every value checked against its lever."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.challenge import Challenge
from rungwright.domain.lever import Lever, tidy
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.recommend.problem import FieldProblem, RequestProblem, unknown
from rungwright.rulebase import CompiledRules, RuleBase


@dataclass(frozen=True)
class Case:
    """One request with everything it refers to."""

    request: RecommendationRequest
    rules: CompiledRules
    challenge: Challenge
    levers: Mapping[str, Lever]
    preset: Mapping[str, Setting]
    set_by_caller: Mapping[str, Setting]
    banned: frozenset[str] = frozenset()
    """materials and tools that a limit of this section rules out"""

    @property
    def base(self) -> RuleBase:
        return self.rules.base

    @property
    def section(self) -> Section:
        return self.request.section

    @property
    def criteria(self) -> tuple[str, ...]:
        return tuple(c.id for c in self.challenge.criteria)


def resolve(request: RecommendationRequest, rules: CompiledRules) -> Case:
    """Raises RequestProblem with every field that is wrong."""
    base = rules.base
    challenge = request.challenge
    if isinstance(challenge, str):
        if challenge not in base.challenges:
            raise RequestProblem([unknown("/challenge", "challenge", challenge, base.challenges)])
        challenge = base.challenges[challenge]
    preset = challenge.presets[request.section.band]
    levers = {name: base.levers[name] for name in sorted(preset) if name in base.levers}
    problems = [*_inline(challenge, base)] if not isinstance(request.challenge, str) else []
    problems += _settings("/settings", request.settings, levers)
    problems += _section(request.section, challenge, base)
    for i, run in enumerate(request.runs):
        problems += _run(f"/runs/{i}", run, challenge, levers)
    for field in ("pinned", "declined"):
        for i, name in enumerate(getattr(request.ask, field)):
            if name not in levers:
                problems.append(unknown(f"/ask/{field}/{i}", "lever", name, levers))
    if problems:
        raise RequestProblem(problems)
    caller = {name: tidy(value) for name, value in request.settings.items()}
    return Case(request, rules, challenge, levers, preset, caller)


def _settings(at: str, settings: Mapping[str, Setting], levers: Mapping[str, Lever]) -> Iterator[FieldProblem]:
    for name, value in settings.items():
        if name not in levers:
            yield unknown(f"{at}/{name}", "lever", name, levers)
        elif not levers[name].accepts(value):
            yield not_allowed(f"{at}/{name}", value, levers[name])


def not_allowed(at: str, value: object, lever: Lever) -> FieldProblem:
    if lever.type == "number":
        low, high = lever.bounds
        return FieldProblem(at, f"{value!r} is not allowed for {lever.id}; give a number from {low} to {high}")
    if lever.type == "yes_no":
        return FieldProblem(at, f"{value!r} is not allowed for {lever.id}; give true or false")
    known = [str(s) for s in lever.settings]
    problem = unknown(at, f"setting of {lever.id}", value, known)
    return FieldProblem(at, f"{problem.detail}; allowed are {', '.join(known)}")


def _section(section: Section, challenge: Challenge, base: RuleBase) -> Iterator[FieldProblem]:
    tests = {t.id for t in challenge.tests if t.stations}
    for i, station in enumerate(section.stations or ()):
        if station.test not in tests:
            yield unknown(f"/section/stations/{i}/test", "test with a station", station.test, tests)
    for i, stock in enumerate(section.materials or ()):
        if stock.material not in base.materials:
            yield unknown(f"/section/materials/{i}/material", "material", stock.material, base.materials)
    for i, tool in enumerate(section.tools or ()):
        if tool not in base.tools:
            yield unknown(f"/section/tools/{i}", "tool", tool, base.tools)
    excludable = {*base.materials, *base.tools, *(a for m in base.materials.values() for a in m.allergens)}
    excludable |= {"food_packaging"}
    for i, name in enumerate(section.exclusions or ()):
        if name not in excludable:
            yield unknown(f"/section/exclusions/{i}", "material, tool or allergen", name, excludable)
    for need, count in (section.supports or {}).items():
        if count > section.students:
            yield FieldProblem(
                f"/section/supports/{need}", f"{count} is more than the section's {section.students} students"
            )


def _run(at: str, run: Run, challenge: Challenge, levers: Mapping[str, Lever]) -> Iterator[FieldProblem]:
    if run.challenge != challenge.id:
        yield FieldProblem(
            f"{at}/challenge", f"{run.challenge!r} is another challenge; give runs of {challenge.id!r} only"
        )
    yield from _settings(f"{at}/settings", run.settings or {}, levers)
    known = {c.id for c in challenge.criteria}
    for i, result in enumerate(run.results or ()):
        if result.criterion not in known:
            yield unknown(f"{at}/results/{i}/criterion", "criterion", result.criterion, known)
    for i, row in enumerate(run.grid or ()):
        for when in ("first", "end"):
            for name in getattr(row, when):
                if name not in known:
                    yield unknown(f"{at}/grid/{i}/{when}/{name}", "criterion", name, known)


def _inline(challenge: Challenge, base: RuleBase) -> Iterator[FieldProblem]:
    """A whole challenge given in the request must still use the levers that the catalogue knows."""
    for band, preset in challenge.presets.items():
        for name in sorted(set(base.levers) - set(preset)):
            yield FieldProblem(f"/challenge/presets/{band}", f"the preset leaves out the lever {name!r}")
        for name, value in preset.items():
            at = f"/challenge/presets/{band}/{name}"
            if name not in base.levers:
                yield unknown(at, "lever", name, base.levers)
            elif not base.levers[name].accepts(value):
                yield not_allowed(at, value, base.levers[name])
