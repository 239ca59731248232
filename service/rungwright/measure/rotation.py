"""Who goes to which station when, and how to finish fairly when time runs short.

Groups visit the tests in one order, are called in the order of their numbers, and take the copy of a station that is
free first. Among groups that are all to do the same tests this ends as early as any order can (see
`queues.flow_minutes`): where every group takes equally long at a station, Johnson's rule for two stations (S. M.
Johnson, Optimal two- and three-stage production schedules, 1954) finds all orders alike.

Groups that could take their tests in any order (an open shop) are not planned for. That is fair only among tests that
leave a build as it was; the refuge has one such test, room and way in, which has no station, since groups do it while
they build. The others may break a build or wet it, so their one order is part of a fair test. A challenge with two
station tests that leave nothing would be the first to gain by it: with one station of each, by the visits to all but
the longest of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations


@dataclass(frozen=True)
class Stop:
    """A test with stations. `visit` minutes > 0, change-over included; `copies` >= 1 side by side."""

    test: str
    visit: float
    copies: int


@dataclass(frozen=True)
class Call:
    """One visit. `group` and `copy` count from 1; `start` in minutes from the first call."""

    group: int
    test: str
    copy: int
    start: float
    minutes: float

    @property
    def end(self) -> float:
        return self.start + self.minutes


@dataclass(frozen=True)
class Finish:
    """The same tests for every group, and the minutes they take."""

    tests: tuple[str, ...]
    minutes: float


def rotation(stops: Sequence[Stop], *, groups: int) -> list[Call]:
    """Every visit of one round, in order of time. `groups` >= 0."""
    calls: list[Call] = []
    ready = [0.0] * groups
    for stop in stops:
        free = [0.0] * stop.copies
        for group in range(groups):
            copy = min(range(stop.copies), key=lambda k: (free[k], k))
            start = max(ready[group], free[copy])
            calls.append(Call(group + 1, stop.test, copy + 1, start, stop.visit))
            ready[group] = free[copy] = start + stop.visit
    order = [stop.test for stop in stops]
    return sorted(calls, key=lambda c: (c.start, order.index(c.test), c.group))


def least_minutes(stops: Sequence[Stop], *, groups: int) -> float:
    """A round of tests can end no sooner: for each station, its first visit cannot start before one group has been
    through the tests before it, then its copies work without a break, then the last group does the tests after it.

    0 without groups or tests.
    """
    if not groups or not stops:
        return 0.0
    visits = [stop.visit for stop in stops]
    return max(
        sum(visits[:i]) + -(-groups // stop.copies) * stop.visit + sum(visits[i + 1 :]) for i, stop in enumerate(stops)
    )


def round_end(stops: Sequence[Stop], *, groups: int) -> float:
    """Minutes until the last group has left the last test; 0 without groups or tests."""
    return max((call.end for call in rotation(stops, groups=groups)), default=0.0)


def fair_finishes(stops: Sequence[Stop], *, groups: int) -> list[Finish]:
    """How groups that are still untested can finish alike: most tests first, and for each number of tests the quickest.

    The order of the tests stays. With equal minutes the tests that come first are kept.
    """
    found = []
    for size in range(len(stops), 0, -1):
        kept = [
            Finish(tuple(s.test for s in some), round_end(some, groups=groups)) for some in combinations(stops, size)
        ]
        found.append(min(kept, key=lambda f: f.minutes))
    return found


def fair_finish(stops: Sequence[Stop], *, groups: int, minutes_left: float) -> Finish | None:
    """The most that all `groups` untested groups can still do alike in `minutes_left`; None if not even one test."""
    return next((f for f in fair_finishes(stops, groups=groups) if f.minutes <= minutes_left + 1e-9), None)
