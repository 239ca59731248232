"""Whether a version of a challenge fits the minutes of its lessons."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge
from rungwright.domain.section import Section
from rungwright.measure.columns import Columns, minutes_of
from rungwright.measure.queues import (
    groups_at_tests,
    needs_adult,
    queue_minutes,
    round_minutes,
    station_copies,
    station_tests,
    visit_minutes,
)
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN, Statement

Array = NDArray[np.float64]

TIGHT_MINUTES = 5.0  # a lesson short by less than this may still fit: common practice


@dataclass(frozen=True)
class TimeCheck:
    """Minutes of n versions. Every array has shape (n,) and is in minutes unless said otherwise."""

    challenge: Challenge
    section: Section
    cols: Columns
    first_round: Array
    """the first round of tests, as far as it lies outside the building"""
    second_round: Array
    """tests after improving; 0 where nothing is tested again"""
    fixed: Array
    """introducing and clearing up in each lesson, and the talk at the end"""
    plan: Array
    build: Array
    redesign: Array
    extra: Array
    """try-outs and examples"""
    set_aside: float
    """because the last lesson ran over"""
    lessons: NDArray[np.int64]
    """lessons in use, never more than the section has"""
    available: Array
    visit: Mapping[str, Array]
    """one group's visit by test, change-over included"""
    copies: Mapping[str, NDArray[np.int64]]
    wet_again: NDArray[np.bool_]
    """where a wet test is repeated, which needs a later lesson than the first"""
    build_at_least: float
    verdict: NDArray[np.int64]
    """codes of `verdicts`: clear if nothing is lacking, uncertain if under 5 minutes are, not feasible from 5 minutes
    on or with less building time than the band needs"""

    @cached_property
    def queue(self) -> dict[str, Array]:
        """By test: minutes until every group has been through that test alone."""
        return queue_minutes(self.challenge, self.section, self.cols, visit=self.visit, copies=self.copies)

    @property
    def test_minutes(self) -> Array:
        return self.first_round + self.second_round

    @property
    def needed(self) -> Array:
        return self.test_minutes + self.fixed + self.plan + self.build + self.redesign + self.extra + self.set_aside

    @property
    def spare(self) -> Array:
        """Available less needed; negative where it is short."""
        return self.available - self.needed

    @property
    def queue_over_build(self) -> dict[str, Array]:
        return {test: queue - self.build for test, queue in self.queue.items()}


def time_check(
    challenge: Challenge, section: Section, cols: Columns, order_paper: NDArray[np.bool_], *, set_aside: float = 0.0
) -> TimeCheck:
    """Whether each version fits the lessons that the section gives to it.

    `order_paper`, (n,): where the tests run in the order for paper builds. `set_aside`: minutes kept free, >= 0.
    """
    visit, copies = visit_minutes(challenge, cols), station_copies(challenge, cols)

    def round_of(count: Mapping[str, NDArray], work: Array) -> Array:
        return round_minutes(challenge, section, cols, order_paper, visit=visit, copies=copies, count=count, work=work)

    lessons = np.minimum(np.floor(cols["sessions_used"]).astype(np.int64), len(section.sessions))
    first, second = groups_at_tests(challenge, section, cols, lessons)
    build, redesign = cols["build_minutes"], cols["redesign_minutes"]
    clock = challenge.minutes
    check = TimeCheck(
        challenge=challenge,
        section=section,
        cols=cols,
        first_round=round_of(first, build),
        second_round=round_of(second, redesign),
        fixed=lessons * (clock.introduce + clock.clear_up[section.band]) + clock.discuss,
        plan=cols["plan_minutes"],
        build=build,
        redesign=redesign,
        extra=minutes_of(cols, "lesson_minutes"),
        set_aside=set_aside,
        lessons=lessons,
        available=np.cumsum([s.minutes for s in section.sessions], dtype=float)[lessons - 1],
        visit={test: visit[test] for test in copies},
        copies=copies,
        wet_again=_wet_again(challenge, first, second),
        build_at_least=clock.build_at_least[section.band],
        verdict=np.zeros(cols.n, np.int64),
    )
    spare = np.round(check.spare, 6)
    verdict = np.where(spare >= 0, CLEAR, np.where(spare > -TIGHT_MINUTES, UNCERTAIN, NOT_FEASIBLE))
    check.verdict[:] = np.where(build < check.build_at_least, NOT_FEASIBLE, verdict)
    return check


def time_statement(check: TimeCheck, i: int) -> Statement:
    """Version `i` in one sentence, with the numbers behind it."""
    needed, available = math.ceil(round(float(check.needed[i]), 6)), round(check.available[i])
    lessons = int(check.lessons[i])
    over = "" if lessons == 1 else f" in {lessons} lessons"
    if check.build[i] < check.build_at_least:
        text = f"Building has {check.build[i]:g} minutes, and at least {check.build_at_least:g} are needed."
    elif check.verdict[i] == CLEAR:
        text = f"Building and testing take about {needed} of the {available} minutes there are{over}."
    elif check.verdict[i] == UNCERTAIN:
        text = f"Building and testing take about {needed} minutes and there are {available}{over}: it may just fit."
    else:
        text = (
            f"Building and testing take about {needed} minutes and there are only {available}{over}; "
            f"the tests alone take {round(check.test_minutes[i])}."
        )
    if check.set_aside:
        text += f" {check.set_aside:g} of them are set aside, because the last lesson ran over."
    named = ("needed", "available", "spare", "test_minutes", "fixed", "plan", "build", "redesign", "extra")
    numbers = {name: round(float(getattr(check, name)[i]), 1) for name in named}
    return Statement(text, {"lessons": lessons, **numbers, "set_aside": check.set_aside})


def lessons_needed(challenge: Challenge, section: Section, check: TimeCheck, i: int) -> int | None:
    """Lessons of the usual length of this section that version `i` takes; None where a lesson is too short for any."""
    clock = challenge.minutes
    each = section.minutes / len(section.sessions) - clock.introduce - clock.clear_up[section.band]
    if each <= 0:
        return None
    work = float(check.needed[i] - check.fixed[i]) + clock.discuss
    return max(1, math.ceil(round(work / each, 6)))


def time_mend(
    challenge: Challenge, section: Section, check: TimeCheck, cols: Columns, i: int, *, order_paper: bool
) -> list[str]:
    """What would help version `i`, practical first, each with the minutes that it frees.

    A station more is advised only at the longest queue, where groups queue. `order_paper`: whether the tests of this
    version run in the order for paper builds.
    """
    if check.verdict[i] == CLEAR:
        return []
    queues = {t.stations: check.queue[t.id][i] for t in station_tests(challenge)}
    at_stations = cols.is_one_of("test_manner", "stations", "when_ready")[i]

    def of_use(lever: str, towards: str) -> bool:
        if lever in queues:
            waits = section.groups > check.copies[_test_at(challenge, lever)][i]
            return bool(check.spare[i] < 0 and at_stations and waits and queues[lever] == max(queues.values()))
        if lever == "test_manner":
            return bool(check.spare[i] < 0 and section.groups > 1)
        if lever == "first_round":
            return bool(check.wet_again[i])
        if lever == "build_minutes":
            short = check.build[i] < check.build_at_least
            return bool(short if towards == "gentler" else check.build[i] > check.build_at_least)
        if lever in ("plan_minutes", "redesign_minutes"):
            least = min(s for s in cols.levers[lever].settings if s > 0)
            return bool(check.spare[i] < 0 and cols.row(i)[lever] > least)
        return bool(check.spare[i] < 0)

    row = cols.row(i)
    useful = [
        (m, to)
        for m in challenge.mend
        if m.check == "time"
        and (to := m.next_from(cols.levers[m.lever], row[m.lever])) is not None
        and of_use(m.lever, m.towards)
    ]
    if not useful:
        return []
    others = Columns(cols.levers, row, [{m.lever: to} for m, to in useful])
    then = time_check(challenge, section, others, np.full(others.n, order_paper), set_aside=check.set_aside)
    told = []
    for m, needed in zip((m for m, _ in useful), then.needed, strict=True):
        freed = round(float(check.needed[i] - needed))
        if m.lever == "sessions_used":
            more = max(0.0, _one_lesson_more(challenge, section, int(check.lessons[i])))
            told.append(f"{m.text[:-1]}: about {_said(more)} more.")
        elif m.lever == "build_minutes" and m.towards == "gentler":
            told.append(m.text)
        elif freed >= 1:
            told.append(f"{m.text[:-1]}: about {_said(freed)} less.")
    return told


def _said(minutes: float) -> str:
    """`1 minute`, `12 minutes`."""
    return "1 minute" if round(minutes) == 1 else f"{round(minutes)} minutes"


def _one_lesson_more(challenge: Challenge, section: Section, lessons: int) -> float:
    """Minutes to work in that one lesson beyond `lessons` would bring; one that there is not is as long as the last."""
    length = section.sessions[min(lessons, len(section.sessions) - 1)].minutes
    return length - challenge.minutes.introduce - challenge.minutes.clear_up[section.band]


def people_mend(
    challenge: Challenge, section: Section, check: TimeCheck, cols: Columns, i: int, *, order_paper: bool
) -> list[str]:
    """What one helper more, or larger groups, would free of version `i`, where that is worth asking for.

    `order_paper`: whether its tests run in the order for paper builds.
    """
    if check.test_minutes[i] < WORTH_ASKING:
        return []
    row = cols.row(i)

    def freed(**changes: int) -> float:
        # Not a copy: that would take along what was worked out of the groups as they are.
        same = {name: getattr(section, name) for name in Section.model_fields}
        other = Section.model_construct(**{**same, **changes})
        then = time_check(challenge, other, Columns(cols.levers, row, [{}]), np.array([order_paper]))
        return float(check.test_minutes[i] - then.test_minutes[0])

    told = []
    goes_round = row["test_manner"] == "own_table" and any(
        needs_adult(test, section.band_low) for test in station_tests(challenge)
    )
    helper = freed(adults=section.adults + 1) if goes_round and section.adults < 12 else 0.0
    if helper >= WORTH_ASKING:
        told.append(f"Ask one more adult for the tests: about {round(helper)} minutes less.")
    size = section.group_size + 1
    larger = freed(group_size=size) if size <= LARGEST_USUAL_GROUP and section.groups > 1 else 0.0
    if larger >= WORTH_ASKING:
        told.append(f"Make groups of {size}: about {round(larger)} minutes less of tests.")
    return told


WORTH_ASKING = 5.0  # minutes that are worth asking a helper for: agreed here
LARGEST_USUAL_GROUP = 4  # students who can all have a hand on one small build: common practice


def _test_at(challenge: Challenge, stations: str) -> str:
    return next(test.id for test in station_tests(challenge) if test.stations == stations)


def _wet_again(challenge: Challenge, first: Mapping[str, NDArray], second: Mapping[str, NDArray]) -> NDArray[np.bool_]:
    again = np.zeros(len(next(iter(first.values()))), bool)
    for test in station_tests(challenge):
        if test.leaves == "wet":
            again |= (first[test.id] > 0) & (second[test.id] > 0)
    return again
