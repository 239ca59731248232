"""Routes that answer: one section, or a whole school at once."""

from __future__ import annotations

from functools import partial

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response, StreamingResponse

from rungwright.api.answering import answer_to, call_of
from rungwright.api.asking import complete, complete_for_batch, keep
from rungwright.api.batch import MOST, PATH, AnsweredLine, ProblemLine, answers, requests_of
from rungwright.api.body import BATCH_LIMIT, JSON, NDJSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.documented import LOCATION, body_of, failures
from rungwright.api.keeping import Keeper
from rungwright.domain.recommendation import Recommendation
from rungwright.rulebase import CompiledRules


def add_routes(app: FastAPI, rules: CompiledRules, keeper: Keeper) -> None:
    @app.post(
        "/v1/recommendations",
        operation_id="recommend",
        tags=["recommendations"],
        summary="Recommend changes for one section",
        response_model=Recommendation,
        response_description="What is proposed, why, what it does, and what was checked; it was not kept, or before",
        responses={
            201: {
                "description": "The same, and it was kept; `Location` is its address",
                "model": Recommendation,
                "headers": {"Location": LOCATION},
            },
            **failures(400, 413, 415, 422),
        },
        openapi_extra=body_of(JSON),
    )
    async def recommend_one(request: Request) -> Response:
        """Propose a few adjustments of a challenge for one section.

        Equal requests get equal answers, but for `created_at`. For a `section` that is told here nothing is kept,
        unless `keep` says so; for a `section_id` the answer is kept, unless `keep` says no. What is kept never changes.
        """
        media_type(request, JSON)
        data = parsed(await read_body(request, ONE_LIMIT))
        caller = request.state.caller

        def done() -> Response:
            call = call_of(data)
            asked = complete(call, keeper, caller, rules)
            if not call.kept:
                return Response(answer_to(asked, rules).model_dump_json(by_alias=True), media_type=JSON)
            id, text, new = keep(asked, keeper, caller, rules, section=call.section_id)
            return Response(text, 201 if new else 200, {"Location": f"/v1/recommendations/{id}"}, JSON)

        # Work of some tens of milliseconds: in a thread, so that short requests need not wait for it.
        return await run_in_threadpool(done)

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
        whole = partial(complete_for_batch, keeper=keeper, caller=request.state.caller, rules=rules)

        # An ordinary iterator is run in a thread, a line at a time, and left alone when the caller has gone.
        return StreamingResponse(answers(items, rules, whole), media_type=NDJSON)

    recommend_batch.__doc__ = f"""Up to {MOST} requests, as a JSON list or as NDJSON with one request a line.

    The answer is NDJSON: each line has the `index` of its request, and either `recommendation` or `problem`. A request
    that is wrong does not stop the others. Nothing is kept, and the supports of kept sections are left out.
    """
