"""From the data of one request to its answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rungwright.api.fields import validate
from rungwright.api.problems import invalid
from rungwright.domain.ask import RecommendationCall, RecommendationRequest
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import recommend
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.rulebase import CompiledRules

Complete = Callable[[RecommendationCall], RecommendationRequest]
"""Finds the section and the runs that a call means. Raises ProblemError."""


def call_of(data: Any) -> RecommendationCall:
    """Raises ProblemError 422."""
    call = validate(RecommendationCall, data)
    if isinstance(call, list):
        raise invalid(call)
    return call


def told_here(call: RecommendationCall) -> RecommendationRequest:
    """The request of a call that brings its section, where nothing is kept. Raises ProblemError 422."""
    wrong = []
    if call.section_id is not None:
        wrong.append(FieldProblem("/section_id", "no sections are kept here; give the whole `section`"))
    if call.keep:
        wrong.append(FieldProblem("/keep", "nothing is kept here; leave it out"))
    if wrong:
        raise invalid(wrong)
    return call.complete(call.section, call.runs or [])


def answer_to(request: RecommendationRequest, rules: CompiledRules) -> Recommendation:
    """Raises ProblemError 422."""
    try:
        return recommend(request, rules)
    except RequestProblem as error:
        raise invalid(error.problems) from None


def answered(data: Any, rules: CompiledRules, complete: Complete = told_here) -> str:
    """The JSON of the answer; nothing is kept. Raises ProblemError."""
    return answer_to(complete(call_of(data)), rules).model_dump_json(by_alias=True)
