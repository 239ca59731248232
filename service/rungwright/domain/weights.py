"""Learnt weights: how much each lever moves the difficulty, learned from a school's own runs, as a plain document.

Starting weights stay in the rule base and are never overwritten; a document lies over them where it is given, and each
of its entries holds only as long as the starting guess it was learned from still stands.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Self

from pydantic import Field, model_validator

from rungwright.domain.challenge import Challenge
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Day, Id, Strict

LEARNED_BELOW = 0.5
"""A weight is said to be learned here when its spread has shrunk below this part of that of its starting guess."""


class SectionRuns(Strict):
    """One section and the runs it had, in any order."""

    section: Section
    runs: list[Run] = Field(max_length=100)


class LearningRequest(Strict):
    """Learn how much each lever moves one challenge."""

    challenge: Id | Challenge = Field(description="a challenge of the catalogue by id, or a whole one")
    sections: list[SectionRuns] = Field(min_length=1, max_length=5000)


class LearningData(Strict):
    """What was learned from, and what was left out and why."""

    sections: int = Field(ge=0, description="sections with at least two runs that could be compared")
    runs: int = Field(ge=0)
    groups: int = Field(ge=0, description="groups of all those runs together")
    flagged: int = Field(ge=0, description="runs left out because of a flag")
    settings_not_told: int = Field(ge=0, description="runs left out because their settings were not told")
    another_challenge: int = Field(ge=0, description="runs left out because they are of another challenge")
    nothing_to_compare: int = Field(ge=0, description="runs left out because they are the only one of their section")


class _Learnt(Strict):
    """What is told of anything learned: how sure it was before any run, how sure it is now, and from how much."""

    sd: float = Field(gt=0, le=10, description="standard deviation: of a weight's factor; of the spread's logarithm")
    starting_sd: float = Field(gt=0, le=10, description="the same before any run")
    sections: int = Field(ge=0, description="sections that it was learned from")
    groups: int = Field(ge=0, description="groups of the runs of those sections")
    learned_here: bool = Field(description="whether its spread is below half of that of the starting guess")

    @model_validator(mode="after")
    def _said_rightly(self) -> Self:
        if self.learned_here != (self.sd < LEARNED_BELOW * self.starting_sd):
            raise ValueError("`learned_here` must say whether `sd` is below half of `starting_sd`")
        return self


class LearntWeight(_Learnt):
    """One weight: a lever's effect on some criteria, or that of a physical margin.

    Learned from the sections that had it at different settings.
    """

    lever: Id | None = Field(description="null for a margin")
    margin: Id | None = Field(description="the check whose margin it is; null for a lever")
    criteria: list[str] = Field(min_length=1, description="criteria, or the one word `all`")
    starting: list[float] = Field(description="starting guess: one value a setting, or the height of the margin term")
    learnt: list[float] = Field(description="the same, learnt: `factor` times the starting guess")
    factor: float = Field(ge=-10, le=10)

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if (self.lever is None) == (self.margin is None):
            raise ValueError("give exactly one of `lever` and `margin`")
        if [round(self.factor * x, 4) for x in self.starting] != [round(x, 4) for x in self.learnt]:
            raise ValueError("`learnt` must be `factor` times `starting`, to four places")
        return self


class LearntSpread(_Learnt):
    """How far sections, criteria and groups stand apart, as a factor of what is assumed at first.

    Learned from every section with a run, whether or not the run could be compared with another.
    """

    factor: float = Field(gt=0.1, lt=10)


class Weights(Strict):
    """A whole document. `version` names it in every answer; `digest` is of everything that the model reads."""

    version: str = Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9a-f]{8}$")
    digest: str = Field(pattern=r"^[0-9a-f]{32}$")
    learned_on: Day
    challenge: Id
    rule_base: str = Field(description="digest of the rule base whose starting guesses were the beginning")
    data: LearningData
    growth: float = Field(description="growth of readiness from one run to the next, learned with the weights [logit]")
    apart: LearntSpread
    weights: list[LearntWeight] = Field(max_length=1000)

    @model_validator(mode="after")
    def _untouched(self) -> Self:
        if self.digest != digest_of(self.challenge, self.apart, self.weights):
            raise ValueError("the digest does not fit the weights: the document was changed after it was made")
        keys = [weight_key(w.lever, w.margin, w.criteria) for w in self.weights]
        if len(set(keys)) < len(keys):
            raise ValueError("a weight stands twice")
        return self

    @cached_property
    def by_key(self) -> Mapping[tuple[str, ...], LearntWeight]:
        return {weight_key(w.lever, w.margin, w.criteria): w for w in self.weights}


def weight_key(lever: str | None, margin: str | None, criteria: Sequence[str]) -> tuple[str, ...]:
    return (lever or "", margin or "", *criteria)


def digest_of(challenge: str, apart: LearntSpread, weights: Sequence[LearntWeight]) -> str:
    content = [challenge, *(part.model_dump(mode="json") for part in (apart, *weights))]
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()[:32]
