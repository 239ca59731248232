"""Calling order: nobody at two places, no copy used twice, as soon as can be; and fair finishes."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.measure.figures import foot_mm, tilt_to_tip_deg
from rungwright.measure.queues import flow_minutes, station_tests
from rungwright.measure.rotation import Stop, fair_finish, fair_finishes, least_minutes, rotation, round_end
from rungwright.rulebase import default_folder, load_rule_base

stops = st.lists(st.tuples(st.sampled_from([0.5, 1.0, 1.5, 2.0, 2.5]), st.integers(1, 4)), min_size=1, max_size=4).map(
    lambda rows: [Stop(f"test_{i}", visit, copies) for i, (visit, copies) in enumerate(rows)]
)


@settings(deadline=None)
@given(stops, st.integers(1, 20))
def test_it_can_be_called_and_ends_with_the_queue_that_the_time_check_counts(stops, groups):
    calls = rotation(stops, groups=groups)
    assert len(calls) == len(stops) * groups
    by_group, by_place = defaultdict(list), defaultdict(list)
    for call in calls:
        by_group[call.group].append(call)
        by_place[call.test, call.copy].append(call)
        assert 1 <= call.copy <= next(s.copies for s in stops if s.test == call.test)
    for visits in by_group.values():
        assert [c.test for c in visits] == [s.test for s in stops], "every group in the one order"
    for visits in (*by_group.values(), *by_place.values()):
        visits.sort(key=lambda c: c.start)
        assert all(a.end <= b.start + 1e-9 for a, b in pairwise(visits))
    visit = np.array([[s.visit for s in stops]])
    copies = np.array([[s.copies for s in stops]])
    counted = flow_minutes(visit=visit, copies=copies, count=np.full((1, len(stops)), groups))[0]
    assert round_end(stops, groups=groups) == pytest.approx(counted)


@settings(deadline=None)
@given(stops, st.integers(0, 20))
def test_no_round_ends_before_its_bound(stops, groups):
    assert round_end(stops, groups=groups) >= least_minutes(stops, groups=groups) - 1e-9


@settings(deadline=None)
@given(st.lists(st.sampled_from([0.5, 1.0, 1.5, 2.0]), min_size=1, max_size=4), st.integers(1, 12))
def test_with_one_station_of_each_the_bound_is_met_so_the_order_is_the_best(visits, groups):
    # Permutation flow shop of alike jobs: makespan = sum of the visits + (groups - 1) * the longest; derived.
    stops = [Stop(str(i), visit, 1) for i, visit in enumerate(visits)]
    assert round_end(stops, groups=groups) == pytest.approx(sum(visits) + (groups - 1) * max(visits))
    assert round_end(stops, groups=groups) == pytest.approx(least_minutes(stops, groups=groups))


def two_machine(jobs: list[tuple[float, float]]) -> float:
    first = second = 0.0
    for a, b in jobs:
        first += a
        second = max(first, second) + b
    return second


def test_johnsons_two_station_rule_agrees_for_alike_groups():
    # S. M. Johnson, Optimal two- and three-stage production schedules, 1954: jobs with a <= b first, by a; the others
    # last, by falling b. The textbook example (5,2) (1,6) (9,7) (3,8) (10,4), optimum 30, is from memory and is also
    # tried over all orders here.
    jobs = [(5.0, 2.0), (1.0, 6.0), (9.0, 7.0), (3.0, 8.0), (10.0, 4.0)]
    early = sorted((j for j in jobs if j[0] <= j[1]), key=lambda j: j[0])
    late = sorted((j for j in jobs if j[0] > j[1]), key=lambda j: -j[1])
    assert two_machine(early + late) == 30 == min(two_machine(list(p)) for p in permutations(jobs))
    # Alike groups: any order is Johnson's, and the calling order takes as long.
    for a, b in ((1.0, 1.5), (2.0, 1.0)):
        stops = [Stop("a", a, 1), Stop("b", b, 1)]
        assert round_end(stops, groups=7) == two_machine([(a, b)] * 7)


def test_no_challenge_has_two_stations_that_groups_could_take_in_any_order():
    """Else an open shop would end sooner than the calling order, and has to be planned."""
    for challenge in load_rule_base(default_folder()).challenges.values():
        free = [test.id for test in station_tests(challenge) if test.leaves == "nothing"]
        assert len(free) < 2, (challenge.id, free)


@settings(deadline=None)
@given(stops, st.integers(1, 15))
def test_a_fair_finish_is_the_quickest_of_its_number_of_tests(stops, groups):
    finishes = fair_finishes(stops, groups=groups)
    assert [len(f.tests) for f in finishes] == list(range(len(stops), 0, -1))
    for finish in finishes:
        all_of_size = [round_end(list(c), groups=groups) for c in combinations(stops, len(finish.tests))]
        assert finish.minutes == pytest.approx(min(all_of_size))
        order = [s.test for s in stops]
        assert sorted(finish.tests, key=order.index) == list(finish.tests)
    minutes = [f.minutes for f in finishes]
    assert minutes == sorted(minutes, reverse=True)


@settings(deadline=None)
@given(stops, st.integers(1, 15), st.floats(0, 60))
def test_a_fair_finish_fits_and_nothing_more_would(stops, groups, minutes_left):
    finish = fair_finish(stops, groups=groups, minutes_left=minutes_left)
    finishes = fair_finishes(stops, groups=groups)
    if finish is None:
        assert finishes[-1].minutes > minutes_left
    else:
        assert finish.minutes <= minutes_left + 1e-6
        assert all(f.minutes > minutes_left for f in finishes if len(f.tests) > len(finish.tests))


def test_nobody_and_nothing():
    assert rotation([], groups=3) == []
    assert rotation([Stop("wind", 1, 1)], groups=0) == []
    assert least_minutes([], groups=3) == 0
    assert fair_finishes([], groups=3) == []


@pytest.mark.parametrize("height", [40, 75, 120])
def test_a_foot_is_the_least_even_one_that_stands_to_the_tilt(height):
    foot = foot_mm(figure_height_mm=height, stands_to_deg=15)
    assert foot % 2 == 0
    assert tilt_to_tip_deg(base_mm=foot, centre_of_mass_mm=height / 2) >= 15
    assert tilt_to_tip_deg(base_mm=foot - 2, centre_of_mass_mm=height / 2) < 15


@pytest.mark.parametrize(("height", "tilt"), [(0, 15), (75, 0), (75, 90)])
def test_a_foot_needs_a_height_and_a_tilt(height, tilt):
    with pytest.raises(ValueError, match="figure_height_mm"):
        foot_mm(figure_height_mm=height, stands_to_deg=tilt)
