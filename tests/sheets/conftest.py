"""Lessons to print, one a band, answered once for all tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules
from rungwright.sheets import Lesson, Wanted

GRADES = {"K-2": "01", "3-5": "04", "6-8": "07", "9-12": "10"}
LessonFor = Callable[..., Lesson]


@pytest.fixture(scope="session")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


def request_for(band: str, **changes: Any) -> dict[str, Any]:
    """A request of a section of the ridge school; `section` and `settings` are laid over the usual ones."""
    section = {
        "label": "Kestrel class",
        "grades": [GRADES[band]],
        "students": 24,
        "group_size": 3,
        "sessions": [{"minutes": 55}, {"minutes": 55}],
        "adults": 2,
        **changes.pop("section", {}),
    }
    return {
        "challenge": "shelter",
        "section": section,
        "ask": {"direction": "fit"},
        "include": ["timetable", "kit", "brief"],
        "units": "both",
        **changes,
    }


@pytest.fixture(scope="session")
def lesson_for(rules: CompiledRules) -> LessonFor:
    @cache
    def answered(text: str) -> tuple[Any, Any]:
        request = RecommendationRequest.model_validate_json(text)
        return recommend(request, rules), request.units.value

    def lesson_for(band: str = "3-5", wanted: Wanted | None = None, **changes: Any) -> Lesson:
        import json

        answer, units = answered(json.dumps(request_for(band, **changes)))
        return Lesson(answer, rules.base, units, wanted or Wanted())

    return lesson_for
