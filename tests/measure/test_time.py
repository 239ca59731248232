"""Minutes: queues against exhaustive search and closed forms, and whether lessons fit."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.measure.phases import phase_minutes, phases
from rungwright.measure.queues import flow_minutes, groups_at_tests, round_minutes, station_copies, visit_minutes
from rungwright.measure.time import lessons_needed, people_mend, time_check, time_mend, time_statement
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from tests.measure.refuge import challenge, levers, section, versions


def flow(visit: list[float], copies: list[int], count: list[int]) -> float:
    return float(flow_minutes(visit=np.array([visit]), copies=np.array([copies]), count=np.array([count]))[0])


def shortest(visit: list[float], copies: list[int], goes: list[list[bool]]) -> float:
    """Least makespan over every order in which visits can be begun (semi-active schedules are enough)."""
    best = np.inf
    stages = [[t for t, yes in enumerate(row) if yes] for row in goes]

    def go(done: tuple[int, ...], ready: tuple[float, ...], free: tuple[tuple[float, ...], ...]) -> None:
        nonlocal best
        if max(ready) >= best:
            return
        if all(d == len(s) for d, s in zip(done, stages, strict=True)):
            best = max(ready)
            return
        tried = set()
        for g, d in enumerate(done):
            alike = (d, ready[g], tuple(stages[g]))
            if d == len(stages[g]) or alike in tried:
                continue
            tried.add(alike)
            t = stages[g][d]
            k = min(range(copies[t]), key=lambda k: free[t][k])
            end = max(ready[g], free[t][k]) + visit[t]
            row = tuple(end if j == k else x for j, x in enumerate(free[t]))
            go(
                tuple(x + (j == g) for j, x in enumerate(done)),
                tuple(end if j == g else x for j, x in enumerate(ready)),
                tuple(row if j == t else x for j, x in enumerate(free)),
            )

    go((0,) * len(goes), (0.0,) * len(goes), tuple((0.0,) * c for c in copies))
    return best


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_first_come_first_served_is_the_shortest_for_groups_that_are_alike(data: st.DataObject) -> None:
    tests = data.draw(st.integers(1, 3))
    groups = data.draw(st.integers(1, 4 if tests < 3 else 3))
    visit = data.draw(st.lists(st.sampled_from([0.5, 1.0, 1.5, 2.5]), min_size=tests, max_size=tests))
    copies = data.draw(st.lists(st.integers(1, 3), min_size=tests, max_size=tests))
    assert flow(visit, copies, [groups] * tests) == shortest(visit, copies, [[True] * tests] * groups)


def test_one_copy_of_each_station_follows_the_closed_form() -> None:
    # Alike jobs in a flow shop: sum of visits + (groups - 1) x the longest visit.
    for groups in (1, 2, 9, 60):
        assert flow([1.0, 1.5, 2.0], [1, 1, 1], [groups] * 3) == pytest.approx(4.5 + (groups - 1) * 2.0)


@given(
    visit=st.lists(st.floats(0.1, 5), min_size=3, max_size=3),
    copies=st.lists(st.integers(1, 6), min_size=3, max_size=3),
    groups=st.integers(1, 60),
)
@settings(max_examples=60, deadline=None)
def test_makespan_respects_its_bounds(visit: list[float], copies: list[int], groups: int) -> None:
    made = flow(visit, copies, [groups] * 3)
    alone = [-(-groups // c) * v for c, v in zip(copies, visit, strict=True)]
    lower = max(sum(visit) - v + queue for v, queue in zip(visit, alone, strict=True))
    assert lower - 1e-9 <= made <= sum(alone) + 1e-9
    more = [copies[0] + 1, *copies[1:]]
    assert flow(visit, more, [groups] * 3) <= made + 1e-9
    assert flow(visit, copies, [groups + 1] * 3) >= made - 1e-9


def test_groups_that_skip_a_test_do_not_wait_for_those_who_do_not() -> None:
    # One of three groups goes to the first test, all to the second: it starts at once for two of them.
    made = flow([1.0, 1.5], [1, 1], [1, 3])
    assert made == 4.5 == shortest([1.0, 1.5], [1, 1], [[False, True], [False, True], [True, True]])


def test_versions_do_not_touch_one_another() -> None:
    visit, copies = np.array([[1.0, 1.5], [2.0, 0.5]]), np.array([[1, 2], [3, 1]])
    both = flow_minutes(visit=visit, copies=copies, count=np.array([[7, 7], [4, 2]]))
    assert both.tolist() == [flow([1.0, 1.5], [1, 2], [7, 7]), flow([2.0, 0.5], [3, 1], [4, 2])]


def test_visit_grows_with_the_load_positions() -> None:
    cols = versions(section(), {"load_positions": 1}, {"load_positions": 3})
    visit = visit_minutes(challenge(), cols)
    assert visit["load"].tolist() == [1.5, 2.5]
    assert visit["wind"].tolist() == [1.0, 1.0]
    assert visit["room_and_entry"].tolist() == [0.5, 0.5]


def check(of, *changes: dict, paper: bool = False):
    cols = versions(of, *changes)
    return time_check(challenge(), of, cols, np.full(cols.n, paper)), cols


@pytest.mark.parametrize(("grade", "size", "students"), [("01", 3, 19), ("04", 3, 28), ("07", 4, 31), ("10", 4, 16)])
def test_a_whole_lesson_with_one_copy_takes_what_the_trade_says(grade: str, size: int, students: int) -> None:
    # Common practice, no source: 55 to 80 minutes; the oldest plan and build for longer.
    of = section(grade, students=students, group_size=size, minutes=(90,))
    made, _ = check(of, {"test_manner": "stations"})
    assert 55 <= made.needed[0] <= 86


def test_manners_of_nine_groups() -> None:
    manners = [{"test_manner": m} for m in ("stations", "when_ready", "own_table", "whole_class")]
    made, _ = check(section(), *manners)
    assert section().groups == 9
    # 4 minutes a group, the longest visit 1.5: 4 + 8 x 1.5; a third of 25 minutes ahead; once; nine times.
    assert made.first_round == pytest.approx([16, 16 - 25 / 3, 4, 36])
    # Four of nine try again: 4 + 3 x 1.5; a third of 8 minutes ahead; once; four times.
    assert made.second_round == pytest.approx([8.5, 8.5 - 8 / 3, 4, 16])
    assert made.queue["load"].tolist() == [13.5, 13.5, 1.5, 13.5]
    assert made.queue_over_build["load"].tolist() == [-11.5, -11.5, -23.5, -11.5]


def test_testing_when_ready_still_takes_one_visit_after_the_building() -> None:
    made, _ = check(section(students=6), {"test_manner": "when_ready", "build_minutes": 40})
    assert made.first_round[0] == 4.0


def test_an_adult_goes_from_table_to_table_in_the_youngest_classes() -> None:
    one, _ = check(section("KG", students=14, group_size=2, adults=1))
    two, _ = check(section("KG", students=14, group_size=2, adults=2))
    assert (one.first_round[0], two.first_round[0]) == (7 * 4.0, 4 * 4.0)


def test_paper_order_is_the_one_used_where_it_is_asked() -> None:
    of, count = section(), {"wind": np.array([9, 9]), "rain": np.array([9, 9]), "load": np.array([4, 4])}
    cols = versions(of, {}, {})
    made = round_minutes(
        challenge(),
        of,
        cols,
        np.array([False, True]),
        visit=visit_minutes(challenge(), cols),
        copies=station_copies(challenge(), cols),
        count=count,
        work=np.zeros(2),
    )
    # Nine rain visits follow the first wind visit; in the usual order the last group then goes to the weight as well.
    assert made.tolist() == [1 + 9 * 1.5 + 1.5, 1 + 9 * 1.5]


@pytest.mark.parametrize(
    ("change", "lessons", "first", "second"),
    [
        ({}, 2, (9, 9, 9), (4, 4, 4)),
        ({"retest": "all"}, 2, (9, 9, 9), (9, 9, 9)),
        ({}, 1, (9, 9, 9), (4, 0, 4)),  # a soaked build is not rebuilt the same day
        ({"first_round": "dry_tests"}, 2, (9, 0, 9), (4, 9, 4)),
        ({"redesign_minutes": 0}, 2, (9, 9, 9), (0, 0, 0)),
        ({"redesign_minutes": 0, "first_round": "dry_tests"}, 2, (9, 9, 9), (0, 0, 0)),
    ],
)
def test_who_is_tested_when(change: dict, lessons: int, first: tuple, second: tuple) -> None:
    of = section()
    made = groups_at_tests(challenge(), of, versions(of, change), np.array([lessons]))
    for got, wanted in zip(made, (first, second), strict=True):
        assert tuple(int(got[t][0]) for t in ("wind", "rain", "load")) == wanted


def test_lessons_in_use_never_exceed_those_of_the_section() -> None:
    made, _ = check(section(minutes=(50, 40)), {"sessions_used": 1}, {"sessions_used": 2}, {"sessions_used": 6})
    assert made.lessons.tolist() == [1, 2, 2]
    assert made.available.tolist() == [50, 90, 90]
    assert made.fixed.tolist() == [4 + 4 + 5, 2 * 8 + 5, 2 * 8 + 5]


def test_a_try_out_and_an_example_cost_minutes() -> None:
    made, _ = check(section(), {}, {"try_out": "dry"}, {"try_out": "dry", "worked_example": "load"})
    assert made.extra.tolist() == [0, 3, 5]
    assert np.diff(made.needed).tolist() == [3, 2]


def test_verdict_at_its_bounds() -> None:
    exact = check(section())[0].needed[0]
    assert exact == 86.5
    for minutes, verdict in ((87, CLEAR), (86, UNCERTAIN), (82, UNCERTAIN), (81, NOT_FEASIBLE)):
        of = section(minutes=(minutes - 40, 40))
        made, cols = check(of)
        assert made.verdict[0] == verdict, minutes
        assert bool(time_mend(challenge(), of, made, cols, 0, order_paper=False)) == (verdict != CLEAR)


def test_building_under_the_least_is_not_feasible_whatever_the_minutes() -> None:
    of = section(minutes=(240,))
    made, cols = check(of, {"build_minutes": 12})
    assert made.verdict[0] == NOT_FEASIBLE
    assert time_statement(made, 0).text == "Building has 12 minutes, and at least 15 are needed."
    assert time_mend(challenge(), of, made, cols, 0, order_paper=False) == ["Give the building more minutes."]
    assert check(section("01", minutes=(240,)), {"build_minutes": 12})[0].verdict[0] == CLEAR


def test_sentences_quote_their_numbers() -> None:
    made, _ = check(section())
    told = time_statement(made, 0)
    assert told.text == "Building and testing take about 87 of the 100 minutes there are in 2 lessons."
    assert told.numbers["spare"] == 13.5
    of = section(minutes=(60,))
    made, _ = check(of)
    assert time_statement(made, 0).text == (
        "Building and testing take about 77 minutes and there are only 60; the tests alone take 23."
    )


def test_what_would_help_tells_the_minutes_that_it_frees() -> None:
    of = section(minutes=(60,))
    made, cols = check(of)
    changes = {
        "one weight station more": {"load_stations": 3},
        "one rain station more": {"rain_stations": 3},
        "test at their own tables": {"test_manner": "own_table"},
        "Start the planning before": {"plan_minutes": 5},
        "Shorten the time to build": {"build_minutes": 20},
    }
    told = time_mend(challenge(), of, made, cols, 0, order_paper=False)
    found = [name for name in changes if any(name in text for text in told)]
    assert {"one weight station more", "Start the planning before"} <= set(found)
    for name in changes:
        other, _ = check(of, {**cols.row(0), **changes[name]})
        freed = round(float(made.needed[0] - other.needed[0]))
        said = next((text for text in told if name in text), "")
        assert said.endswith(f": about {freed} minute{'s' if freed > 1 else ''} less.") if said else freed < 1, name
    # One lesson more, as long as this one: 60 minutes, 4 of them to begin and 4 to tidy.
    assert "Give the challenge one lesson more: about 52 minutes more." in told


def test_a_station_more_is_not_advised_where_nobody_queues() -> None:
    of = section(minutes=(45,))
    made, cols = check(of, {"test_manner": "own_table"})
    assert not [text for text in time_mend(challenge(), of, made, cols, 0, order_paper=False) if "station" in text]


def test_minutes_set_aside_are_needed_and_told() -> None:
    of = section()
    cols = versions(of)
    usual, late = (time_check(challenge(), of, cols, np.zeros(1, bool), set_aside=s) for s in (0.0, 15.0))
    assert late.needed[0] - usual.needed[0] == 15 and late.test_minutes == usual.test_minutes
    assert "15 of them are set aside, because the last lesson ran over." in time_statement(late, 0).text


def test_a_helper_and_larger_groups_are_asked_for_only_where_they_free_minutes() -> None:
    """Pairs of grade 1 with one adult, who is part of wind, rain and weight: each test goes from table to table."""
    of = section("01", students=18, group_size=2, minutes=(40, 40))
    made, cols = check(of, {"test_manner": "own_table"})
    alone = check(section("01", students=18, group_size=2, minutes=(40, 40), adults=2), {"test_manner": "own_table"})[0]
    saved = round(float(made.test_minutes[0] - alone.test_minutes[0]))
    told = people_mend(challenge(), of, made, cols, 0, order_paper=False)
    assert saved >= 5 and told[0] == f"Ask one more adult for the tests: about {saved} minutes less."
    assert told[1].startswith("Make groups of 3: ")
    # Older groups test by themselves: a helper frees nothing.
    of = section(minutes=(100,))
    made, cols = check(of, {"test_manner": "own_table"})
    assert people_mend(challenge(), of, made, cols, 0, order_paper=False) == []


def test_how_many_lessons_it_takes() -> None:
    # Lessons of 30 minutes, 8 of them to begin and to tidy: what is left of the work goes into 22 each.
    of = section(minutes=(30,))
    made, _ = check(of)
    work = float(made.needed[0] - made.fixed[0]) + 5
    assert lessons_needed(challenge(), of, made, 0) == -(-work // 22)
    assert lessons_needed(challenge(), section(minutes=(8,)), check(section(minutes=(8,)))[0], 0) is None


def share_out(of, change: dict | None = None, keep: tuple[str, ...] = ()):
    row = {**challenge().presets[of.band], **(change or {})}
    return phase_minutes(challenge(), of, levers(), row, order_paper=False, keep=keep), row


def test_minutes_stay_at_the_preset_where_they_fit() -> None:
    got, row = share_out(section())
    assert got == {name: row[name] for name in got}


@pytest.mark.parametrize("minutes", range(50, 100, 3))
@pytest.mark.parametrize("manner", ["stations", "when_ready", "own_table"])
def test_shared_minutes_fit_and_are_whole(minutes: int, manner: str) -> None:
    of = section(minutes=(minutes,))
    got, row = share_out(of, {"test_manner": manner})
    if got is None:
        least = {"plan_minutes": 3, "build_minutes": 15, "redesign_minutes": 5}
        assert check(of, {**row, **least})[0].spare[0] < 0
        return
    assert check(of, {**row, **got})[0].spare[0] >= 0
    for name, value in got.items():
        assert isinstance(value, int) and value <= row[name]
    assert got["build_minutes"] >= 15
    if 3 < got["plan_minutes"] < row["plan_minutes"] and got["build_minutes"] < row["build_minutes"]:
        assert got["build_minutes"] == pytest.approx(3 * got["plan_minutes"], abs=3)


def test_what_the_caller_set_is_kept() -> None:
    got, _ = share_out(section(minutes=(70,)), {"build_minutes": 25}, keep=("build_minutes",))
    assert got is not None and got["build_minutes"] == 25


def test_no_improving_is_not_given_any() -> None:
    got, _ = share_out(section(minutes=(55,)), {"redesign_minutes": 0})
    assert got is not None and got["redesign_minutes"] == 0


def test_none_where_even_the_least_does_not_fit() -> None:
    assert share_out(section(minutes=(40,)))[0] is None


@pytest.mark.parametrize("minutes", [(100,), (50, 50), (45, 60), (40, 35, 45), (40, 40, 40)])
@pytest.mark.parametrize("grade", ["01", "04", "07"])
def test_a_timetable_that_fits_holds_every_minute_once(minutes: tuple[int, ...], grade: str) -> None:
    of = section(grade, minutes=minutes, students=24, adults=2)
    made, _ = check(of, {"sessions_used": len(minutes)})
    assert made.verdict[0] == CLEAR
    table = phases(challenge(), of, made, 0)
    assert sum(p.minutes for p in table) == pytest.approx(made.needed[0], abs=0.6)
    for lesson, length in enumerate(minutes, start=1):
        parts = [p for p in table if p.lesson == lesson]
        assert (parts[0].phase, parts[-1].phase) == ("start", "tidy")
        assert parts[-1].start + parts[-1].minutes <= length + 1  # under a minute is not worth a phase of its own
        for a, b in pairwise(parts):
            assert b.start == pytest.approx(a.start + a.minutes, abs=0.11)
    order = [p.phase for p in table if p.phase not in ("start", "tidy")]
    known = ["try_out", "plan", "build", "test", "improve", "test_again", "talk"]
    assert order == sorted(order, key=known.index)


def test_a_wet_build_dries_before_it_is_tested_again() -> None:
    of = section(minutes=(60, 60))
    table = phases(challenge(), of, check(of)[0], 0)
    assert {p.phase: p.lesson for p in table if p.phase in ("test", "test_again")} == {"test": 1, "test_again": 2}


def test_a_phase_goes_on_in_the_next_lesson_only_where_none_stays_whole_otherwise() -> None:
    of = section("07", students=31, group_size=4, minutes=(50, 50))
    labels = [p.label for p in phases(challenge(), of, check(of)[0], 0)]
    assert "test, continued" in labels
    of = section(minutes=(50, 50))
    assert not [p for p in phases(challenge(), of, check(of)[0], 0) if "continued" in p.label]
