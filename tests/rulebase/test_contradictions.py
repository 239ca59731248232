"""Tests of one property that no value can pass together."""

from __future__ import annotations

import pytest

from rungwright.rulebase.checks.contradictions import contradiction


@pytest.mark.parametrize(
    ("words", "more"),
    [
        ({"at least": 5, "below": 5}, {}),
        ({"above": 5, "at most": 5}, {}),
        ({"at least": 5, "below": 3}, {}),
        ({"between": [2, 4], "above": 4}, {}),
        ({"is": 3, "at least": 4}, {}),
        ({"is": "a", "is not": "a"}, {}),
        ({"one of": ["a", "b"], "none of": ["a", "b"]}, {}),
        ({"none of": ["a", "b"]}, {"possible": ["a", "b"]}),
        ({"above": 3}, {"low": 1, "high": 3}),
        ({"absent": True, "at least": 1}, {}),
    ],
)
def test_nothing_passes(words, more):
    assert contradiction(words, **more)


@pytest.mark.parametrize(
    ("words", "more"),
    [
        ({"at least": 5, "at most": 5}, {}),
        ({"between": [2, 4], "above": 3}, {}),
        ({"is not": "a"}, {"possible": ["a", "b"]}),
        ({"at least": 3}, {"low": 1, "high": 3}),
        ({"is": False}, {"possible": [True, False]}),
        ({"present": True, "at least": 1}, {}),
    ],
)
def test_something_passes(words, more):
    assert contradiction(words, **more) is None
