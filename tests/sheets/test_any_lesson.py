"""Whatever a section is like, its lesson prints: every sheet, in any language, without a warning."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.grades import GRADE_CODES
from rungwright.recommend import recommend
from rungwright.sheets import Lesson, NotNeeded, PaperName, SheetName, Wanted, printed
from tests.sheets.conftest import request_for

MAY_LACK = (SheetName.LETTER, SheetName.CALLS)
"""A full cupboard asks nothing of families; groups that are tested at their tables are not called."""


@pytest.fixture(scope="module")
def sections(rules):
    base = rules.base
    materials = st.sampled_from(sorted(base.materials))
    stock = st.fixed_dictionaries({"material": materials, "quantity": st.sampled_from([0, 1, 20, 300])})
    ruled_out = st.sampled_from(sorted({*base.materials, *base.tools}))
    return st.fixed_dictionaries(
        {
            "grades": st.lists(st.sampled_from(GRADE_CODES), min_size=1, max_size=3),
            "students": st.integers(1, 60),
            "group_size": st.integers(1, 8),
            "sessions": st.lists(
                st.fixed_dictionaries({"minutes": st.sampled_from([20, 45, 90])}), min_size=1, max_size=3
            ),
        },
        optional={
            "materials": st.lists(stock, max_size=10),
            "tools": st.lists(st.sampled_from(sorted(base.tools)), max_size=8),
            "exclusions": st.lists(ruled_out, max_size=10),
        },
    )


def test_any_lesson_prints(rules, sections):
    wanted = st.builds(
        Wanted,
        paper=st.sampled_from(PaperName),
        large=st.booleans(),
        languages=st.sampled_from([("en",), ("es",), ("en", "es")]),
        story=st.sampled_from([1, 2]),
    )
    ways = st.sampled_from(["easier", "fit", "harder"])

    @settings(max_examples=12, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    @given(section=sections, wanted=wanted, direction=ways)
    def prints(section, wanted, direction):
        body = request_for("3-5", section=section, ask={"direction": direction})
        answer = recommend(RecommendationRequest.model_validate(body), rules)
        lesson = Lesson(answer, rules.base, "both", wanted)
        made = 0
        for name in SheetName:
            try:
                made += bool(printed(lesson, name))
            except NotNeeded:
                assert name in MAY_LACK
        assert made >= len(SheetName) - len(MAY_LACK)

    prints()
