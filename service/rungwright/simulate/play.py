"""Many weeks of lessons in invented schools, pitched in several ways on the same classes with the same luck."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.lever import LeverKind
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.weights import LearningRequest, SectionRuns, Weights
from rungwright.readiness.intervals import wilson
from rungwright.recommend.learn import learn_weights
from rungwright.recommend.resolve import resolve
from rungwright.rulebase import CompiledRules
from rungwright.simulate.bounds import Bound, bounds
from rungwright.simulate.classes import FIRST_DAY, Class, draw_class
from rungwright.simulate.teachers import NeverChanges, Plan, Recommended, RuleOfThumb, SameChange, stepped
from rungwright.simulate.worlds import World, draw_school

BAND = (0.70, 0.90)
DISTRICT = 3
"""Other schools of the same world that the habit of a district comes from."""


@dataclass(frozen=True)
class Sizes:
    """How much to play, in each world: `schools` of `classes` each, taught for `weeks`, one challenge a week."""

    schools: int = 2
    classes: int = 20
    weeks: int = 6

    @property
    def lessons(self) -> int:
        return self.schools * self.classes * self.weeks


@dataclass(frozen=True)
class Lesson:
    """`true` is the share of groups that would meet all criteria by the end; `low`, `high` the range that was said."""

    world: str
    teacher: str
    school: int
    number: int
    week: int
    true: float
    low: float | None
    high: float | None


def play(
    worlds: Sequence[World],
    sizes: Sizes,
    rules: CompiledRules,
    *,
    challenge: str = "shelter",
    seed: int = 1,
    learn_every: int | None = 3,
    with_bounds: bool = False,
    tick: Callable[[], None] = lambda: None,
) -> list[Lesson]:
    """Every lesson of every teacher. Equal arguments give equal lessons; `tick` is called after each recommendation.

    Recommendations start from the rule base's own weights; every `learn_every` weeks a school learns from all its runs,
    None for never. `with_bounds` adds those that know what no teacher can, and takes several times as long; `tick` is
    then called after their lessons too.
    """
    rules = rules.with_weights(None)
    lessons: list[Lesson] = []
    for world in worlds:
        # The same draws in every world, so that worlds differ only in what they say.
        habit = best_same_change(_district(world, challenge, rules, sizes, seed), "same_change")
        for number in range(sizes.schools):
            classes = _classes(world, challenge, rules, sizes, np.random.default_rng([seed, number]))
            played = _Played(world, number, classes, lessons)
            played.with_recommendations(rules, sizes.weeks, learn_every, tick)
            for teacher in (NeverChanges(), habit, RuleOfThumb(BAND)):
                played.without(teacher, sizes.weeks)
            if with_bounds:
                played.without(best_same_change(classes, "same_change_hindsight"), sizes.weeks)
                for bound in bounds(BAND):
                    played.without(bound, sizes.weeks, tick)
    return lessons


def _district(world: World, challenge: str, rules: CompiledRules, sizes: Sizes, seed: int) -> list[Class]:
    """Classes of other schools of the same world, which a habit may come from."""
    schools = (np.random.default_rng([seed, 1000 + number]) for number in range(DISTRICT))
    return [taught for rng in schools for taught in _classes(world, challenge, rules, sizes, rng)]


def _classes(world: World, challenge: str, rules: CompiledRules, sizes: Sizes, rng: np.random.Generator) -> list[Class]:
    any_section = Section(label="any", grades=["04"], students=24, group_size=3, sessions=[{"minutes": 60}])
    case = resolve(RecommendationRequest(challenge=challenge, section=any_section), rules)
    school = draw_school(world, case.difficulty, case.challenge.readiness, rng)
    return [draw_class(school, challenge, rules, sizes.weeks, rng, i) for i in range(sizes.classes)]


@dataclass(frozen=True)
class _Played:
    world: World
    school: int
    classes: Sequence[Class]
    lessons: list[Lesson]

    def with_recommendations(
        self, rules: CompiledRules, weeks: int, learn_every: int | None, tick: Callable[[], None]
    ) -> None:
        teacher = Recommended(rules, BAND)
        runs: list[list[Run]] = [[] for _ in self.classes]
        for week in range(weeks):
            if learn_every and week and week % learn_every == 0:
                teacher.rules = rules.with_weights(self._learnt(runs, rules, week))
            for number in range(len(self.classes)):
                self._lesson(teacher.name, number, week, teacher.plan(self.classes[number], runs[number]), runs[number])
                tick()

    def without(
        self,
        teacher: NeverChanges | SameChange | RuleOfThumb | Bound,
        weeks: int,
        tick: Callable[[], None] = lambda: None,
    ) -> None:
        for number, taught in enumerate(self.classes):
            runs: list[Run] = []
            for week in range(weeks):
                self._lesson(teacher.name, number, week, teacher.plan(taught, runs), runs)
                tick()

    def _lesson(self, teacher: str, number: int, week: int, plan: Plan, runs: list[Run]) -> None:
        taught = self.classes[number]
        said = plan.expected
        self.lessons.append(
            Lesson(
                self.world.name,
                teacher,
                self.school,
                number,
                week,
                taught.true_share(week, plan.settings),
                said and said.low,
                said and said.high,
            )
        )
        runs.append(taught.teach(week, plan.settings))

    def _learnt(self, runs: Sequence[Sequence[Run]], rules: CompiledRules, week: int) -> Weights:
        sections = [SectionRuns(section=c.section, runs=list(r)) for c, r in zip(self.classes, runs, strict=True)]
        request = LearningRequest(challenge=self.classes[0].case.challenge.id, sections=sections)
        return learn_weights(request, rules, learned_on=FIRST_DAY + timedelta(weeks=week))


def best_same_change(classes: Sequence[Class], name: str) -> SameChange:
    """Of all single steps of a challenge lever, the one that truly lands most first lessons of `classes` in the band.

    Found on other schools' classes it is a habit that may have grown there; found on the classes that are to be taught
    it is hindsight, which no teacher has.
    """

    def landed(change: tuple[str, int]) -> tuple[int, str, int]:
        shares = [c.true_share(0, stepped(c, c.usual, *change) or c.usual) for c in classes]
        return sum(BAND[0] <= share <= BAND[1] for share in shares), *change

    levers = classes[0].case.levers
    moves = [(name, sign) for name, lever in levers.items() if lever.kind == LeverKind.CHALLENGE for sign in (-1, 1)]
    _, lever, sign = max(map(landed, moves))
    return SameChange(lever, sign, name)


@dataclass(frozen=True)
class Score:
    """How the lessons of one teacher in one world went. Shares are 0..1; `covered` is None where nothing was said."""

    lessons: int
    in_band: float
    in_band_sure: tuple[float, float]
    """95 % range of `in_band`, lessons of one class counted as alike as they were"""
    below_half: float
    covered: float | None


def scores(lessons: Sequence[Lesson]) -> Mapping[tuple[str, str], Score]:
    """(world, teacher) -> its score, in the order played."""
    groups: dict[tuple[str, str], list[Lesson]] = {}
    for lesson in lessons:
        groups.setdefault((lesson.world, lesson.teacher), []).append(lesson)
    return {key: _score(group) for key, group in groups.items()}


def _score(lessons: Sequence[Lesson]) -> Score:
    inside = np.array([BAND[0] <= lesson.true <= BAND[1] for lesson in lessons], float)
    by_class: dict[tuple[int, int], list[float]] = {}
    for lesson, hit in zip(lessons, inside, strict=True):
        by_class.setdefault((lesson.school, lesson.number), []).append(hit)
    share = float(inside.mean())
    # Design effect of clusters: how many lessons the same certainty would take if none were alike.
    between = np.var([np.mean(hits) for hits in by_class.values()], ddof=1) / len(by_class) if len(by_class) > 1 else 0
    alone = share * (1 - share) / len(lessons)
    alike = max(between / alone, 1.0) if alone > 0 else 1.0
    said = [lesson for lesson in lessons if lesson.low is not None]
    return Score(
        len(lessons),
        share,
        wilson(share * len(lessons) / alike, len(lessons) / alike),
        float(np.mean([lesson.true < 0.5 for lesson in lessons])),
        float(np.mean([lesson.low <= lesson.true <= lesson.high for lesson in said])) if said else None,
    )
