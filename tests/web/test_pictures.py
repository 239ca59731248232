"""The dots of a page are as many as the groups, and say in words what they show."""

import re

import pytest

from rungwright.domain.recommendation import AllCriteria
from rungwright.web.pictures import dots


@pytest.mark.parametrize(("groups", "low", "high"), [(9, 6, 8), (1, 0, 1), (30, 12, 21), (6, 6, 6), (13, 0, 0)])
def test_a_dot_a_group(groups, low, high):
    expected = AllCriteria(share=0.5, low=0.4, high=0.6, groups=groups / 2, groups_likely=(low, high))
    made = dots(expected, groups)
    circles = re.findall(r"<circle\b[^>]*>", made.picture)
    assert len(circles) == groups
    assert made.words == (f"{low} of {groups}" if low == high else f"{low} to {high} of {groups}")
    kinds = re.findall(r'class="dot (full|half|none)"', made.picture)
    assert [kinds.count(kind) for kind in ("full", "half", "none")] == [low, high - low, groups - high]
