"""Adults for the stations in use."""

import pytest

from rungwright.measure.adults import adults_check, adults_mend, adults_statement
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from tests.measure.refuge import challenge, section, versions


def check(grade: str, adults: int, change: dict, *, other_places: int = 0):
    of = section(grade, students=14, group_size=2, adults=adults)
    cols = versions(of, change)
    return adults_check(challenge(), of, cols, other_places=other_places), cols


@pytest.mark.parametrize(
    ("grade", "adults", "change", "needed", "verdict"),
    [
        ("01", 1, {"test_manner": "stations"}, 3, NOT_FEASIBLE),
        ("01", 3, {"test_manner": "stations"}, 3, UNCERTAIN),
        ("01", 4, {"test_manner": "stations"}, 3, CLEAR),
        ("01", 4, {"test_manner": "when_ready", "load_stations": 2}, 4, UNCERTAIN),
        ("01", 1, {"test_manner": "own_table"}, 1, CLEAR),
        ("01", 1, {"test_manner": "whole_class"}, 1, CLEAR),
        ("04", 1, {"test_manner": "stations", "load_stations": 3}, 0, CLEAR),
    ],
)
def test_adults_by_band_and_manner(grade: str, adults: int, change: dict, needed: int, verdict: int) -> None:
    made, _ = check(grade, adults, change)
    assert (int(made.needed[0]), int(made.verdict[0])) == (needed, verdict)
    assert int(made.short[0]) == max(needed - adults, 0)


def test_the_lowest_grade_decides() -> None:
    of = section(students=23, adults=1).model_copy(update={"grades": ["02", "04"]})
    made = adults_check(challenge(), of, versions(of, {"test_manner": "stations"}))
    assert made.needed.tolist() == [3]


def test_hot_glue_binds_an_adult_of_its_own() -> None:
    made, _ = check("04", 1, {}, other_places=1)
    assert made.verdict.tolist() == [UNCERTAIN]
    made, _ = check("04", 1, {}, other_places=2)
    assert made.verdict.tolist() == [NOT_FEASIBLE]


def test_sentences_and_what_would_help() -> None:
    made, cols = check("01", 1, {"test_manner": "stations", "load_stations": 2})
    told = adults_statement(made, 0)
    assert told.text == "The places in use need 4 adults at once, and this section has one adult."
    assert told.numbers == {"needed": 4, "there": 1, "short": 3}
    assert adults_mend(challenge(), made, cols, 0) == [
        "Test one group after another, with the class watching.",
        "Run one weight station.",
    ]
    made, cols = check("01", 3, {"test_manner": "stations"})
    assert adults_statement(made, 0).text == (
        "The places in use need 3 adults and there are 3, so nobody is free for the groups that wait."
    )
    made, cols = check("01", 2, {})
    assert adults_statement(made, 0).text == "While groups test, one adult must be at hand, and there are 2."
    assert adults_mend(challenge(), made, cols, 0) == []
    assert adults_statement(check("10", 1, {})[0], 0).text == "No test in use needs an adult of its own."
