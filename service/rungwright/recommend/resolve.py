"""From a request to a case: every name looked up in the rule base, every value checked against its lever."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.challenge import Challenge, ReadinessPrior
from rungwright.domain.grades import BAND_MIDDLES
from rungwright.domain.lever import Lever, tidy
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.domain.weights import Weights
from rungwright.measure.kit import Stock, stock_of
from rungwright.readiness.difficulty import Difficulty, difficulty_of
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
    difficulty: Difficulty
    """the weights of this challenge, learnt ones over the starting guesses"""
    teaching_runs: Sequence[Run]
    """runs that teach, oldest first"""
    banned: frozenset[str] = frozenset()
    """materials and tools that a limit of this section rules out"""

    @property
    def base(self) -> RuleBase:
        return self.rules.base

    @property
    def section(self) -> Section:
        return self.request.section

    def of_challenge(self, name: str) -> Case:
        """The same section with another challenge of the catalogue, at that challenge's preset."""
        challenge = self.base.challenges[name]
        preset = challenge.presets[self.section.band]
        levers = _levers(preset, self.base)
        difficulty = difficulty_of(challenge, levers, self.rules.weights)
        return replace(self, challenge=challenge, levers=levers, preset=preset, set_by_caller={}, difficulty=difficulty)

    @property
    def criteria(self) -> tuple[str, ...]:
        return tuple(c.id for c in self.challenge.criteria)

    @property
    def learnt(self) -> Weights | None:
        """What lies over the starting guesses of this challenge; None where nothing does."""
        weights = self.rules.weights
        return weights if weights and weights.challenge == self.challenge.id else None

    @cached_property
    def prior(self) -> ReadinessPrior:
        """The challenge's prior, its spreads as far apart as sections and groups were found to be here."""
        prior = self.challenge.readiness
        return prior.apart(self.learnt.apart.factor) if self.learnt else prior

    @property
    def grade_shift(self) -> float:
        """Grades above the middle of the section's band."""
        return self.section.grade_mid - BAND_MIDDLES[self.section.band]

    @cached_property
    def stock(self) -> Stock:
        return stock_of(self.section, self.base.materials, banned=self.banned)

    @cached_property
    def last_told(self) -> Run | None:
        """The newest run of this challenge, whether it teaches or not."""
        told = [run for run in self.request.runs if run.challenge == self.challenge.id]
        return max(told, key=lambda run: (run.on, run.model_dump_json()), default=None)

    @property
    def set_aside(self) -> float:
        """Minutes to keep free because the last lesson of this challenge ran over."""
        over = self.last_told.minutes_over if self.last_told else None
        return float(min(max(over or 0, 0), MOST_SET_ASIDE))

    @cached_property
    def own_runs(self) -> list[Run]:
        """Those of this challenge."""
        return [run for run in self.teaching_runs if run.challenge == self.challenge.id]


MOST_SET_ASIDE = 30
"""Minutes: a lesson that ran over by more met something that will not come again; agreed here."""


def resolve(request: RecommendationRequest, rules: CompiledRules) -> Case:
    """Raises RequestProblem with every field that is wrong."""
    base = rules.base
    challenge = request.challenge
    if isinstance(challenge, str):
        if challenge not in base.challenges:
            raise RequestProblem([unknown("/challenge", "challenge", challenge, base.challenges)])
        challenge = base.challenges[challenge]
    preset = challenge.presets[request.section.band]
    levers = _levers(preset, base)
    problems = [*_inline(challenge, base)] if not isinstance(request.challenge, str) else []
    problems += _settings("/settings", request.settings, levers)
    problems += section_problems(request.section, [challenge], base)
    for i, run in enumerate(request.runs):
        problems += _run(f"/runs/{i}", run, challenge, request.section, base)
    for field in ("pinned", "declined"):
        for i, name in enumerate(getattr(request.ask, field)):
            if name not in levers:
                problems.append(unknown(f"/ask/{field}/{i}", "lever", name, levers))
    if problems:
        raise RequestProblem(problems)
    caller = {name: tidy(value) for name, value in request.settings.items()}
    difficulty = difficulty_of(challenge, levers, rules.weights)
    teaching = sorted((r for r in request.runs if r.teaches), key=lambda r: (r.on, r.model_dump_json()))
    return Case(request, rules, challenge, levers, preset, caller, difficulty, teaching)


def _settings(at: str, settings: Mapping[str, Setting], levers: Mapping[str, Lever]) -> Iterator[FieldProblem]:
    for name, value in settings.items():
        if name not in levers:
            yield unknown(f"{at}/{name}", "lever", name, levers)
        elif not levers[name].accepts(value):
            yield not_allowed(f"{at}/{name}", value, levers[name])


def not_allowed(at: str, value: object, lever: Lever) -> FieldProblem:
    """A value that is not in the lever's domain; says what is."""
    if lever.type == "number":
        low, high = lever.bounds
        return FieldProblem(at, f"{value!r} is not allowed for {lever.id}; give a number from {low} to {high}")
    if lever.type == "yes_no":
        return FieldProblem(at, f"{value!r} is not allowed for {lever.id}; give true or false")
    known = [str(s) for s in lever.settings]
    problem = unknown(at, f"setting of {lever.id}", value, known)
    return FieldProblem(at, f"{problem.detail}; allowed are {', '.join(known)}")


def section_problems(section: Section, challenges: Iterable[Challenge], base: RuleBase) -> Iterator[FieldProblem]:
    """Names in a section that are not known, its stations being those of any of the challenges."""
    tests = {t.id for challenge in challenges for t in challenge.tests if t.stations}
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
    for i, name in enumerate(section.kept_levers or ()):
        if name not in base.levers:
            yield unknown(f"/section/kept_levers/{i}", "lever", name, base.levers)
    for need, count in (section.supports or {}).items():
        if count > section.students:
            yield FieldProblem(
                f"/section/supports/{need}", f"{count} is more than the section's {section.students} students"
            )


def _levers(preset: Mapping[str, Setting], base: RuleBase) -> dict[str, Lever]:
    return {name: base.levers[name] for name in sorted(preset) if name in base.levers}


def _run(at: str, run: Run, asked: Challenge, section: Section, base: RuleBase) -> Iterator[FieldProblem]:
    known_challenges = {**base.challenges, asked.id: asked}
    if run.challenge not in known_challenges:
        yield unknown(f"{at}/challenge", "challenge", run.challenge, known_challenges)
        return
    challenge = known_challenges[run.challenge]
    yield from _settings(f"{at}/settings", run.settings or {}, _levers(challenge.presets[section.band], base))
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
