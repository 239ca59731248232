"""Test queues: how long one round of tests takes, for many versions at once.

A group visits the tests that have stations in one order, the same for every group. Tests without stations are done
while building and take no minutes of their own. Visit minutes are a starting guess of the trade (`Test.visit`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
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
        test.id: np.zeros(cols.n)
        + sum((rate * cols[lever] for lever, rate in test.visit.each.items()), test.visit.fixed)
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
    order = range(visit.shape[1])
    return _in_order(order, visit.T, copies.T, count.T)


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

    def at_stations() -> Array:
        usual, paper = ([t.id for t in tests], challenge.order_paper)
        if not order_paper.any():
            return _in_order(usual, visit, copies, count)
        if order_paper.all():
            return _in_order(paper, visit, copies, count)
        return np.where(order_paper, _in_order(paper, visit, copies, count), _in_order(usual, visit, copies, count))

    def when_ready() -> Array:
        one_group = sum(np.minimum(count[t.id], 1) * visit[t.id] for t in tests)
        return np.maximum(one_group, at_stations() - HEAD_START * work)

    return _by_manner(
        cols,
        stations=at_stations,
        when_ready=when_ready,
        own_table=lambda: sum(_own_table(section, t, visit=visit[t.id], count=count[t.id]) for t in tests),
        whole_class=lambda: sum(count[t.id] * visit[t.id] for t in tests),
    )


def _in_order(
    order: Sequence[str], visit: Mapping[str, Array], copies: Mapping[str, Counts], count: Mapping[str, Counts]
) -> Array:
    rows = (zip(*(by_test[t].tolist() for t in order), strict=True) for by_test in (visit, copies, count))
    return np.array([_last_leaves(*row) for row in zip(*rows, strict=True)])


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

    def queue(test: Test) -> Array:
        def at_stations() -> Array:
            return -(-count // copies[test.id]) * visit[test.id]

        return _by_manner(
            cols,
            stations=at_stations,
            when_ready=at_stations,
            own_table=lambda: _own_table(section, test, visit=visit[test.id], count=count),
            whole_class=lambda: count * visit[test.id],
        )

    return {test.id: queue(test) for test in station_tests(challenge)}


def _by_manner(cols: Columns, **minutes: Callable[[], Array]) -> Array:
    """The minutes of each version's own manner; only manners that some version has are worked out."""
    manner, settings = cols["test_manner"], cols.levers["test_manner"].settings
    first, *others = dict.fromkeys(manner.tolist())
    found = minutes[str(settings[first])]()
    for other in others:
        found = np.where(manner == other, minutes[str(settings[other])](), found)
    return found


def _own_table(section: Section, test: Test, *, visit: Array, count: Counts) -> Array:
    """All groups at once, but a test that needs an adult goes from table to table with the adults there are."""
    turns = -(-count // section.adults) if needs_adult(test, section.band_low) else np.minimum(count, 1)
    return turns * visit
