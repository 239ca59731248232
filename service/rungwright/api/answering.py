"""From the data of one request to the JSON of its answer."""

from __future__ import annotations

from typing import Any

from rungwright.api.fields import validate
from rungwright.api.problems import invalid
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import recommend
from rungwright.recommend.problem import RequestProblem
from rungwright.rulebase import CompiledRules


def answered(data: Any, rules: CompiledRules) -> str:
    """Raises ProblemError 422."""
    return answer_to(request_in(data), rules).model_dump_json(by_alias=True)


def request_in(data: Any) -> RecommendationRequest:
    """Raises ProblemError 422."""
    request = validate(RecommendationRequest, data)
    if isinstance(request, list):
        raise invalid(request)
    return request


def answer_to(request: RecommendationRequest, rules: CompiledRules) -> Recommendation:
    """Raises ProblemError 422."""
    try:
        return recommend(request, rules)
    except RequestProblem as error:
        raise invalid(error.problems) from None
