"""The route that learns: runs in, a document of weights out. Nothing is stored."""

from __future__ import annotations

from datetime import date
from typing import Any

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from rungwright.api.body import BATCH_LIMIT, JSON, media_type, parsed, read_body
from rungwright.api.documented import failures
from rungwright.api.fields import validate
from rungwright.api.problems import invalid
from rungwright.domain.weights import LearningRequest, Weights
from rungwright.recommend.learn import learn_weights
from rungwright.recommend.problem import RequestProblem
from rungwright.rulebase import CompiledRules


def add_routes(app: FastAPI, rules: CompiledRules) -> None:
    @app.post(
        "/v1/learning",
        operation_id="learn",
        tags=["learning"],
        summary="Learn how much each lever moves a challenge",
        response_model=Weights,
        response_description="Every weight: its starting guess, what was learnt, from how much",
        responses=failures(400, 413, 415, 422),
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {JSON: {"schema": {"$ref": "#/components/schemas/LearningRequest"}}},
            }
        },
    )
    async def learn(request: Request) -> Response:
        """Runs of several sections in, a document of learnt weights out. Nothing is stored, nothing is overwritten.

        Only runs whose settings are told, of sections with at least two of them, can be compared. Start the service
        with RUNGWRIGHT_WEIGHTS to use a document.
        """
        media_type(request, JSON)
        data = parsed(await read_body(request, BATCH_LIMIT))
        return Response(await run_in_threadpool(_learnt, data, rules), media_type=JSON)


def _learnt(data: Any, rules: CompiledRules) -> str:
    """Raises ProblemError 422."""
    request = validate(LearningRequest, data)
    if isinstance(request, list):
        raise invalid(request)
    try:
        return learn_weights(request, rules, learned_on=date.today()).model_dump_json()
    except RequestProblem as error:
        raise invalid(error.problems) from None
