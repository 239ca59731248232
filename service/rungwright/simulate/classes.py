"""Invented classes: their profile, their true readiness week by week, and how a lesson goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.grades import GRADE_CODES
from rungwright.domain.run import GridRow, Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.measure.columns import columns
from rungwright.readiness.nodes import expit
from rungwright.readiness.outcome import Versions, share_all
from rungwright.readiness.posterior import Posterior
from rungwright.recommend.model import checks_of, parts_of, versions_of, zero_of
from rungwright.recommend.resolve import Case, resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules
from rungwright.simulate.worlds import School

FIRST_DAY = date(2026, 9, 7)


@dataclass(frozen=True)
class Class:
    """One class of a school. `ability` (weeks, criteria) is its true readiness, `seed` the luck of its lessons."""

    case: Case
    school: School
    ability: NDArray[np.float64]
    seed: int

    @property
    def section(self) -> Section:
        return self.case.section

    @cached_property
    def usual(self) -> dict[str, Setting]:
        """The settings it would start with, fitted to its minutes, before anything is known of it."""
        return dict(start(self.case).settings)

    @cached_property
    def _zero(self) -> NDArray[np.float64]:
        return zero_of(self.case)

    def versions(self, rows: Sequence[Mapping[str, Setting]]) -> Versions:
        """A version for each row of settings, with its true difficulty."""
        cols = columns(self.case.levers, rows)
        moved = parts_of(self.case, cols, checks_of(self.case, cols)) - self._zero
        assumed, weights = versions_of(self.case, cols, moved), self.case.difficulty
        off = moved @ ((self.school.factor - weights.factor)[:, None] * weights.on)
        return replace(assumed, difficulty=assumed.difficulty + off + self.school.strength)

    def true_share(self, week: int, settings: Mapping[str, Setting]) -> float:
        """The share of groups that would meet every criterion by the end, over endlessly many groups."""
        ability = self.ability[week]
        sure = Posterior(ability, 0.0, np.zeros(len(ability)))
        return float(share_all(self.school.prior, sure, self.versions([settings]))[0])

    def teach(self, week: int, settings: Mapping[str, Setting]) -> Run:
        """One lesson. The same week has the same luck, whatever the settings are."""
        versions, groups = self.versions([settings]), self.section.groups
        rng = np.random.default_rng([self.seed, week])
        effect = self.school.prior.group_sd * rng.normal(size=(groups, 1))
        first_luck, second_luck, keep_luck = rng.random((3, groups, len(self.case.criteria)))
        x = self.ability[week] + effect - versions.difficulty[0]
        first = first_luck < expit(x)
        again = (second_luck < expit(x + versions.gain[0])) & versions.second[0]
        # A group that met everything at once is done and is not tested again.
        done = (first | ~versions.counts[0]).all(axis=1, keepdims=True)
        end = np.where(first, (keep_luck < versions.keep[0]) | done, again)
        tested = [(i, c) for i, c in enumerate(self.case.criteria) if versions.counts[0, i]]

        def marks(met: NDArray[np.bool_]) -> list[dict[str, str]]:
            return [{c: "yes" if row[i] else "no" for i, c in tested} for row in met]

        return Run(
            challenge=self.case.challenge.id,
            settings=dict(settings),
            on=FIRST_DAY + timedelta(weeks=week),
            groups=groups,
            grid=[GridRow(first=a, end=b) for a, b in zip(marks(first), marks(end), strict=True)],
        )


def draw_class(
    school: School, challenge: str, rules: CompiledRules, weeks: int, rng: np.random.Generator, number: int
) -> Class:
    """A class of any grade from 1 to 12, of 15 to 30 students, with two lessons for each challenge."""
    grade = int(rng.integers(1, 13))
    section = Section(
        label=f"Invented class {number}",
        grades=[GRADE_CODES[grade]],
        students=int(rng.integers(15, 29)),
        group_size=3,
        sessions=[{"minutes": int(rng.choice([45, 50, 60]))}] * 2,
    )
    case = resolve(RecommendationRequest(challenge=challenge, section=section), rules)
    prior = school.prior
    shift = prior.growth_a_grade * case.grade_shift
    walk = np.cumsum(np.append(0, school.growth + school.drift * rng.normal(size=weeks - 1)))
    common = shift + prior.section_sd * rng.normal() + walk
    own = prior.criterion_sd * rng.normal(size=len(case.criteria))
    return Class(case, school, common[:, None] + own, int(rng.integers(2**31)))
