"""Test queues: how long one round of tests takes, for many versions at once.

A group visits the tests that have stations in one order, the same for every group. Tests without stations are done
while building and take no minutes of their own. Visit minutes are a starting guess of the trade (`Test.visit`).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge, Test
from rungwright.domain.grades import Band
from rungwright.domain.section import Section
from rungwright.measure.columns import Columns

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

RETESTED_SHARE = 0.4  # groups that try one test again where only what was missed is retested: starting guess
HEAD_START = 1 / 3  # part of the work time in which early groups already test, where groups test when ready


def station_tests(challenge: Challenge) -> tuple[Test, ...]:
    """The tests that have stations, in the challenge's usual order."""
    return tuple(test for test in challenge.tests if test.stations)


def needs_adult(test: Test, band: Band) -> bool:
    return test.adult == "always" or (test.adult == "K-2" and band == Band.K_2)


def visit_minutes(challenge: Challenge, cols: Columns) -> dict[str, Array]:
    """test -> one group's visit at it, (n,) [min], change-over included; every test of the challenge."""
    return {
        test.id: np.full(cols.n, test.visit.fixed)
        + sum((rate * cols[lever] for lever, rate in test.visit.each.items()), np.zeros(cols.n))
        for test in challenge.tests
    }


def flow_minutes(*, visit: Array, copies: NDArray[np.int64], count: Counts) -> Array:
    """Minutes until the last group leaves the last test, first come first served; (n,) [min].

    Parameters, each of shape (n, tests), tests in the order of the visits: `visit` minutes >= 0; `copies` >= 1 stations
    of each test side by side; `count` >= 0 groups that go to each test.

    Where all groups go to all tests this is the least possible: groups are alike, so any schedule is, but for their
    names, first come first served, and starting each as early as can be makes the k-th departure from every test as
    early as can be. Alike copies are then taken in turn, so group g waits for group g - copies. Where some go to fewer
    tests, those with most still to do come last, which keeps arrivals in order; it is then a schedule that works, not
    always the shortest.
    """
    rows = zip(visit.tolist(), copies.tolist(), count.tolist(), strict=True)
    return np.array([_last_leaves(tuple(v), tuple(k), tuple(c)) for v, k, c in rows])


@lru_cache(maxsize=65_536)
def _last_leaves(visit: tuple[float, ...], copies: tuple[int, ...], count: tuple[int, ...]) -> float:
    """One version of `flow_minutes`. Versions of one lesson share few queues, so each is worked out once."""
    groups = max(count, default=0)
    left = [0.0] * groups
    for minutes, stations, here in zip(visit, copies, count, strict=True):
        first = groups - here
        for g in range(first, groups):
            free = left[g - stations] if g - stations >= first else 0.0
            # `left` holds departures from this test up to g - 1, from the test before from g on.
            left[g] = max(left[g], free) + minutes
    return max(left, default=0.0)


def station_copies(challenge: Challenge, cols: Columns) -> dict[str, Counts]:
    """test -> stations side by side, (n,); only the tests that have stations."""
    return {t.id: np.floor(cols[t.stations]).astype(np.int64) for t in station_tests(challenge)}


def groups_at_tests(
    challenge: Challenge, section: Section, cols: Columns, lessons: Counts
) -> tuple[dict[str, Counts], dict[str, Counts]]:
    """Groups that go to each test in the first and in the second round."""
    groups, some = section.groups, int(np.ceil(RETESTED_SHARE * section.groups))
    improve = cols["redesign_minutes"] > 0
    again = np.where(cols.is_one_of("retest", "all"), groups, some)
    first, second = {}, {}
    for test in station_tests(challenge):
        wet = test.leaves == "wet"
        # With no improving there is one round only, and every test is in it.
        late = improve & cols.is_one_of("first_round", "dry_tests") if wet else np.zeros(cols.n, bool)
        # A soaked build is not rebuilt the same day.
        waits = wet and all(challenge.criterion(c).second_try.when == "next_day" for c in test.criteria)
        repeated = improve & (lessons > 1) if waits else improve
        first[test.id] = np.where(late, 0, groups)
        second[test.id] = np.where(late, groups, np.where(repeated, again, 0))
    return first, second


def round_minutes(
    challenge: Challenge,
    section: Section,
    cols: Columns,
    order_paper: NDArray[np.bool_],
    *,
    visit: Mapping[str, Array],
    copies: Mapping[str, Counts],
    count: Mapping[str, Counts],
    work: Array,
) -> Array:
    """Minutes that one round of tests takes beyond `work` minutes of building or improving, (n,) [min].

    Parameters: `order_paper`, (n,), where the tests run in the order for paper builds; by test, each (n,): `visit`
    minutes, `copies` of its station, `count` of groups that go to it.
    """
    tests = station_tests(challenge)

    def flow(order: list[str]) -> Array:
        stacked = [np.column_stack([by_test[t] for t in order]) for by_test in (visit, copies, count)]
        return flow_minutes(visit=stacked[0], copies=stacked[1], count=stacked[2])

    in_order = flow([t.id for t in tests])
    if order_paper.any():
        in_order = np.where(order_paper, flow(challenge.order_paper), in_order)
    total = {name: np.zeros(cols.n) for name in ("one_group", "own_table", "whole_class")}
    for t in tests:
        total["one_group"] += np.minimum(count[t.id], 1) * visit[t.id]
        total["own_table"] += _own_table(section, t, visit=visit[t.id], count=count[t.id])
        total["whole_class"] += count[t.id] * visit[t.id]
    return _by_manner(
        cols,
        stations=in_order,
        when_ready=np.maximum(total["one_group"], in_order - HEAD_START * work),
        own_table=total["own_table"],
        whole_class=total["whole_class"],
    )


def queue_minutes(
    challenge: Challenge,
    section: Section,
    cols: Columns,
    *,
    visit: Mapping[str, Array],
    copies: Mapping[str, Counts],
) -> dict[str, Array]:
    """test -> minutes until every group has been through that test, were it the only one; (n,) [min]."""
    count = np.full(cols.n, section.groups)
    queue = {}
    for test in station_tests(challenge):
        at_stations = -(-count // copies[test.id]) * visit[test.id]
        queue[test.id] = _by_manner(
            cols,
            stations=at_stations,
            when_ready=at_stations,
            own_table=_own_table(section, test, visit=visit[test.id], count=count),
            whole_class=count * visit[test.id],
        )
    return queue


def _by_manner(cols: Columns, **minutes: Array) -> Array:
    manner, settings = cols["test_manner"], cols.levers["test_manner"].settings
    if (manner == manner[0]).all():
        return minutes[str(settings[manner[0]])]
    return np.choose(manner, [minutes[str(s)] for s in settings])


def _own_table(section: Section, test: Test, *, visit: Array, count: Counts) -> Array:
    """All groups at once, but a test that needs an adult goes from table to table with the adults there are."""
    turns = -(-count // section.adults) if needs_adult(test, section.band_low) else np.minimum(count, 1)
    return turns * visit
