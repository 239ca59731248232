"""Routes that answer: one section, or a whole school at once."""

from __future__ import annotations

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response, StreamingResponse

from rungwright.api.answering import answered
from rungwright.api.batch import MOST, PATH, AnsweredLine, ProblemLine, answers, requests_of
from rungwright.api.body import BATCH_LIMIT, JSON, NDJSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.documented import body_of, failures
from rungwright.domain.recommendation import Recommendation
from rungwright.rulebase import CompiledRules


def add_routes(app: FastAPI, rules: CompiledRules) -> None:
    @app.post(
        "/v1/recommendations",
        operation_id="recommend",
        tags=["recommendations"],
        summary="Recommend changes for one section",
        response_model=Recommendation,
        response_description="What is proposed, why, what it does, and what was checked",
        responses=failures(400, 413, 415, 422),
        openapi_extra=body_of(JSON),
    )
    async def recommend_one(request: Request) -> Response:
        """Propose a few adjustments of a challenge for one section. Nothing is stored.

        Equal requests get equal answers, but for `created_at`.
        """
        media_type(request, JSON)
        data = parsed(await read_body(request, ONE_LIMIT))
        # Work of some tens of milliseconds: in a thread, so that short requests need not wait for it.
        return Response(await run_in_threadpool(answered, data, rules), media_type=JSON)

    @app.post(
        PATH,
        operation_id="recommend_batch",
        tags=["recommendations"],
        summary="Recommend changes for many sections",
        response_class=StreamingResponse,
        responses={
            200: {
                "description": "NDJSON: one line for each request, in order, as each is done",
                "model": AnsweredLine | ProblemLine,
            },
            **failures(400, 413, 415, 422),
        },
        openapi_extra=body_of(JSON, NDJSON),
    )
    async def recommend_batch(request: Request) -> StreamingResponse:
        lines = media_type(request, JSON, NDJSON) == NDJSON
        items = requests_of(await read_body(request, BATCH_LIMIT), lines=lines)

        # An ordinary iterator is run in a thread, a line at a time, and left alone when the caller has gone.
        return StreamingResponse(answers(items, rules), media_type=NDJSON)

    recommend_batch.__doc__ = f"""Up to {MOST} requests, as a JSON list or as NDJSON with one request a line.

    The answer is NDJSON: each line has the `index` of its request, and either `recommendation` or `problem`. A request
    that is wrong does not stop the others.
    """
