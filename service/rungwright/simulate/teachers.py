"""Ways to pitch the next lesson: with recommendations, and three that need none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rungwright.domain.ask import Ask, RecommendationRequest
from rungwright.domain.lever import LeverKind
from rungwright.domain.recommendation import Share
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules
from rungwright.simulate.classes import Class


@dataclass(frozen=True)
class Plan:
    """Settings of the next lesson, and what was said to be expected of them, where anything was."""

    settings: Mapping[str, Setting]
    expected: Share | None = None


@dataclass
class Recommended:
    """Takes what is recommended, asked to fit, from what was taught last; `rules` carries what has been learned."""

    rules: CompiledRules
    band: tuple[float, float]
    name: str = "recommended"

    def plan(self, taught: Class, runs: Sequence[Run]) -> Plan:
        request = RecommendationRequest(
            challenge=taught.case.challenge.id,
            section=taught.section,
            settings=_kept(taught, runs[-1]) if runs else {},
            runs=list(runs),
            ask=Ask(band=self.band),
        )
        after = recommend(request, self.rules).after
        return Plan(after.settings, after.expected.all_criteria)


def _kept(taught: Class, last: Run) -> dict[str, Setting]:
    """The pitch of the last lesson, where it is not the usual one."""
    levers = taught.case.levers
    return {
        name: value
        for name, value in last.settings.items()
        if levers[name].kind == LeverKind.CHALLENGE and value != taught.usual[name]
    }


@dataclass
class NeverChanges:
    name: str = "never_change"

    def plan(self, taught: Class, runs: Sequence[Run]) -> Plan:
        return Plan(taught.usual)


@dataclass
class SameChange:
    """Always moves one lever by one step, the same for every class."""

    lever: str
    sign: int
    """+1 harder, -1 gentler"""
    name: str

    def plan(self, taught: Class, runs: Sequence[Run]) -> Plan:
        return Plan(stepped(taught, taught.usual, self.lever, self.sign) or taught.usual)


RULE_OF_THUMB = {
    "load": ("load_positions", "load_place", "rigid_pieces"),
    "dry": ("cover_cm2", "rain_from", "rain_strokes"),
    "wind": ("wind_sides", "wind_reference_g"),
    "room": ("figure_count", "room_each"),
    "entry": ("entry",),
    "stand": ("figure_standing",),
}
"""Levers that a teacher thinks of first for each criterion."""


@dataclass
class RuleOfThumb:
    """Looks at the last result: too few groups through, one step gentler where most missed; too many, one harder.

    Keeps what it changed before. `band` is the share of groups that it leaves alone.
    """

    band: tuple[float, float]
    name: str = "rule_of_thumb"

    def plan(self, taught: Class, runs: Sequence[Run]) -> Plan:
        settings = dict(runs[-1].settings) if runs else taught.usual
        if not runs:
            return Plan(settings)
        tallies = {c: end for c, (_, end) in runs[-1].tallies().items()}
        through = sum(all(mark == "yes" for mark in row.end.values()) for row in runs[-1].grid) / runs[-1].groups
        if self.band[0] <= through <= self.band[1]:
            return Plan(settings)
        sign = -1 if through < self.band[0] else 1
        order = sorted(tallies, key=lambda c: sign * -tallies[c].met)
        for criterion in order:
            for lever in RULE_OF_THUMB[criterion]:
                moved = stepped(taught, settings, lever, sign)
                if moved:
                    return Plan(moved)
        return Plan(settings)


def stepped(taught: Class, settings: Mapping[str, Setting], lever: str, sign: int) -> dict[str, Setting] | None:
    """The settings with one lever a step harder (+1) or gentler (-1); None where there is no such step."""
    steps = taught.case.levers[lever].steps_from(settings[lever], sign)
    return {**settings, lever: steps[0]} if steps else None
