"""What holds for every answer, on random sections; `tests/scripts/invariants.py` tries as many as you like."""

import json

import pytest
from hypothesis import HealthCheck, given, settings

from rungwright.rulebase import default_folder

from .cases import requests

pytest.register_assert_rewrite("tests.recommend.invariants")

from .invariants import answer, hold_all  # noqa: E402


@settings(
    max_examples=300,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(requests())
def test_every_invariant_holds_on_random_sections(request):
    hold_all(request)


def test_a_grade_4_section_asked_for_harder_gets_what_a_good_teacher_would_change():
    request = json.loads((default_folder().parent / "examples/grade_4_harder/request.json").read_text())
    a = answer(request)
    assert 1 <= len(a.proposals) <= 3
    assert {p.lever for p in a.proposals} & {"rigid_pieces", "load_positions", "figure_count", "figure_standing"}
    assert all(p.reason.evidence for p in a.proposals)


@pytest.mark.parametrize("direction", ["easier", "fit", "harder"])
def test_a_lesson_of_30_minutes_says_that_it_does_not_fit_and_what_would_help(direction):
    request = json.loads((default_folder().parent / "examples/short_lesson/request.json").read_text())
    a = answer(request, ask={"direction": direction})
    time = next(c for c in a.before.checks if c.kind == "time")
    assert time.verdict.value == "not_feasible" and any("station" in m for m in time.mend)
    assert "does not fit" in a.summary.headline
