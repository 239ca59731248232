"""Routes about ladders. Every body holds whole documents and nothing is stored."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel

from rungwright.api.body import JSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.documented import body_of, failures
from rungwright.api.fields import validate
from rungwright.api.problems import invalid
from rungwright.domain.ladder_report import LadderAnswer, LadderComparison, LadderMerge, LadderPlacement
from rungwright.domain.ladder_request import (
    LadderCheckRequest,
    LadderCompareRequest,
    LadderDraftRequest,
    LadderMergeRequest,
    LadderPlaceRequest,
)
from rungwright.ladders.compare import compare
from rungwright.ladders.draft import draft
from rungwright.ladders.edit import edited
from rungwright.ladders.merge import merge
from rungwright.ladders.place import place
from rungwright.ladders.report import report
from rungwright.recommend.problem import RequestProblem
from rungwright.rulebase import CompiledRules


def drafted(request: LadderDraftRequest, rules: CompiledRules) -> LadderAnswer:
    """Draft a ladder over grades, or around the version that a section has.

    Its rungs ask for even steps of demand, keep the limits of their grades, and pass every check for the usual class.
    """
    made = draft(request, rules)
    told = report(made.ladder, rules, request.units.value)
    return LadderAnswer(ladder=made.ladder, report=told, notes=list(made.notes))


def checked(request: LadderCheckRequest, rules: CompiledRules) -> LadderAnswer:
    """Check a ladder: each rung, each step with its reasons, and what is to be mended.

    With `edits`, the ladder after them. It is checked again after each; one that is refused says why, and none is made.
    """
    ladder, told = edited(request.ladder, request.edits, rules, request.units.value)
    return LadderAnswer(ladder=ladder, report=told, notes=[])


def placed(request: LadderPlaceRequest, rules: CompiledRules) -> LadderPlacement:
    """Place sections on rungs, with the reason and one rung up and down; pool results by rung; add up the kit.

    Results of a rung are shown from three sections on, and no section is named with them.
    """
    return place(request, rules)


def compared(request: LadderCompareRequest, rules: CompiledRules) -> LadderComparison:
    """Two ladders of one challenge side by side. Rungs go by their ids."""
    return compare(request.first, request.second, rules, request.units.value)


def merged(request: LadderMergeRequest, rules: CompiledRules) -> LadderMerge:
    """Two edits of one ladder put together, field by field. What both changed in different ways is listed."""
    return merge(request.base, request.first, request.second, rules, request.units.value)


WORK: dict[str, tuple[str, type[BaseModel], type[BaseModel], Callable]] = {
    "draft": ("Draft a ladder", LadderDraftRequest, LadderAnswer, drafted),
    "check": ("Check a ladder, after edits", LadderCheckRequest, LadderAnswer, checked),
    "place": ("Place sections on a ladder", LadderPlaceRequest, LadderPlacement, placed),
    "compare": ("Compare two ladders", LadderCompareRequest, LadderComparison, compared),
    "merge": ("Merge two edits of a ladder", LadderMergeRequest, LadderMerge, merged),
}
"""Last part of the address -> summary, request, answer, what is done."""


def add_routes(app: FastAPI, rules: CompiledRules) -> None:
    for name in WORK:
        _add(app, name, rules)


def _add(app: FastAPI, name: str, rules: CompiledRules) -> None:
    summary, asked, answer, work = WORK[name]

    def answered(data: Any) -> str:
        request = validate(asked, data)
        if isinstance(request, list):
            raise invalid(request)
        try:
            return work(request, rules).model_dump_json(by_alias=True)
        except RequestProblem as error:
            raise invalid(error.problems) from None

    async def route(request: Request) -> Response:
        media_type(request, JSON)
        data = parsed(await read_body(request, ONE_LIMIT))
        return Response(await run_in_threadpool(answered, data), media_type=JSON)

    app.post(
        f"/v1/ladders/{name}",
        operation_id=f"{name}_ladder" if name != "place" else "place_sections",
        tags=["ladders"],
        summary=summary,
        description=inspect.cleandoc(work.__doc__),
        response_model=answer,
        responses=failures(400, 413, 415, 422),
        openapi_extra=body_of(JSON, model=asked.__name__),
    )(route)
