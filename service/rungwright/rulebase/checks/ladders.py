"""Ladders: their levers and settings exist, run from gentlest to hardest, reach what the presets of the bands ask, and
each step says what it asks."""

from __future__ import annotations

from collections.abc import Iterator

from rungwright.domain.challenge import Challenge
from rungwright.domain.climb import Climb, ClimbPlan, Demand
from rungwright.domain.lever import LeverKind, setting_key
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.checks.names import setting_mistake
from rungwright.rulebase.marked import Marked
from rungwright.rulebase.problems import Problem, nearest


def check_ladders(base: RuleBase) -> Iterator[Problem]:
    for plan in base.ladders.values():
        file = base.files[f"ladders/{plan.id}"]
        if plan.id not in base.challenges:
            yield file.problem((), f"there is no challenge {plan.id!r}{nearest(plan.id, base.challenges)}")
            continue
        challenge = base.challenges[plan.id]
        levers = {name for preset in challenge.presets.values() for name in preset}
        for i, lever in enumerate(plan.same):
            if lever not in levers:
                yield file.problem(("same", i), f"there is no lever {lever!r}{nearest(lever, levers)}")
        yield from _standards(base, file, ("first",), plan.first)
        for i, climb in enumerate(plan.climbs):
            yield from _climb(base, file, challenge, plan, i, climb, levers)


def _climb(
    base: RuleBase, file: Marked, challenge: Challenge, plan: ClimbPlan, i: int, climb: Climb, levers: set[str]
) -> Iterator[Problem]:
    at = ("climbs", i)
    criteria = {c.id for c in challenge.criteria}
    if climb.criterion not in criteria:
        message = f"there is no criterion {climb.criterion!r}{nearest(climb.criterion, criteria)}"
        yield file.problem((*at, "criterion"), message)
    if climb.lever not in levers:
        yield file.problem((*at, "lever"), f"there is no lever {climb.lever!r}{nearest(climb.lever, levers)}")
        return
    lever = base.levers[climb.lever]
    if lever.kind != LeverKind.CHALLENGE or not lever.monotone:
        yield file.problem((*at, "lever"), f"{lever.id} cannot climb: only monotone challenge levers do")
    for j, value in enumerate(climb.settings):
        if mistake := setting_mistake(lever, value):
            yield file.problem((*at, "settings", j), mistake)
            return
    places = [lever.position(value) for value in climb.settings]
    if places != sorted(set(places)):
        yield file.problem((*at, "settings"), "settings run from gentlest to hardest, each once")
    for band, preset in challenge.presets.items():
        value = preset.get(climb.lever)
        # Between two numbers a ladder steps to the next one; a word that is not listed has no step.
        if lever.type != "number" and lever.accepts(value) and value not in climb.settings:
            message = f"grades {band} begin at {value}, which no step reaches: list it, and say what it asks"
            yield file.problem((*at, "settings"), message)
    needed = [setting_key(value) for value in climb.settings[1:]]
    for key, demand in climb.asks.items():
        if key not in needed:
            yield file.problem((*at, "asks", key), f"{key!r} is reached by no step{nearest(key, needed)}", key=True)
        yield from _standards(base, file, (*at, "asks", key), demand)
    for key in needed:
        if key not in climb.asks:
            yield file.problem((*at, "asks"), f"say what the step to {key} asks of students", key=True)


def _standards(base: RuleBase, file: Marked, at: tuple, demand: Demand) -> Iterator[Problem]:
    seen: set[str] = set()
    for i, name in enumerate(demand.standards):
        if name not in base.standards:
            message = f"there is no standard {name!r}{nearest(name, base.standards)}"
            yield file.problem((*at, "standards", i), message)
            continue
        bands = set(base.standards[name].bands)
        if bands & seen:
            yield file.problem((*at, "standards", i), f"a standard of {', '.join(sorted(bands & seen))} stands already")
        seen |= bands
