"""Routes that print: the same request as for a recommendation, answered with a sheet. Nothing is stored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any

from fastapi import FastAPI, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

from rungwright.api.answering import answer_to, call_of
from rungwright.api.asking import complete
from rungwright.api.body import JSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.documented import body_of, failures
from rungwright.api.keeping import Keeper
from rungwright.api.problems import ProblemError, ProblemType, invalid
from rungwright.domain.ask import Include, RecommendationRequest
from rungwright.recommend.problem import FieldProblem
from rungwright.rulebase import CompiledRules
from rungwright.sheets import Lesson, NotPrintable, PaperName, SheetName, Wanted, calendar, kit_csv, printed

PREFIX = "/v1/prints"
NEEDED = (Include.TIMETABLE, Include.KIT, Include.BRIEF)
IN_THE_BODY = ("challenge", "section", "ladder")


class PrintQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    paper: PaperName = PaperName.LETTER
    large: bool = Field(default=False, description="large print, from 18 points")
    language: str = Field(
        default="en",
        pattern="^[a-z]{2}(,[a-z]{2})?$",
        description="language of the sheets for students and families; two with a comma stand side by side",
    )
    story: int = Field(default=1, ge=1, le=9, description="which of the challenge's stories is told")
    needed_by: date | None = Field(default=None, description="the day for the letter to families")


class CalendarQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    start: list[datetime] = Field(
        min_length=1, max_length=6, description="local time at which each lesson starts, without a zone"
    )


@dataclass(frozen=True)
class Desk:
    """What a print stands on: the rules, and what is kept."""

    rules: CompiledRules
    keeper: Keeper

    async def asked(self, request: Request) -> RecommendationRequest:
        """The request of a body, its section looked up where it names one that is kept. Raises ProblemError."""
        media_type(request, JSON)
        call = call_of(parsed(await read_body(request, ONE_LIMIT)))
        return await run_in_threadpool(complete, call, self.keeper, request.state.caller, self.rules)


def add_routes(app: FastAPI, rules: CompiledRules, keeper: Keeper) -> None:
    desk = Desk(rules, keeper)
    for name in SheetName:
        _sheet(app, desk, name)
    _kit_table(app, desk)
    _calendar(app, desk)


def lesson_of(request: RecommendationRequest, rules: CompiledRules, wanted: Wanted) -> Lesson:
    """The answer to a request, ready to be printed. Raises ProblemError 422; NotPrintable."""
    include = list(dict.fromkeys([*request.include, *NEEDED]))
    request = request.model_copy(update={"include": include})
    return Lesson(answer_to(request, rules), rules.base, request.units.value, wanted)


def refused(error: NotPrintable) -> ProblemError:
    """422 for what the body asks, 400 for what the query asks."""
    detail = str(error)
    if error.field in IN_THE_BODY:
        return invalid([FieldProblem(f"/{error.field}", detail)])
    problem = FieldProblem(f"/{error.field}", detail)
    return ProblemError(ProblemType.INVALID_QUERY, "A parameter of the query is wrong.", (problem,))


def _made(asked: RecommendationRequest, rules: CompiledRules, wanted: Wanted, name: SheetName) -> bytes:
    try:
        return printed(lesson_of(asked, rules, wanted), name)
    except NotPrintable as error:
        raise refused(error) from None


def _sheet(app: FastAPI, desk: Desk, name: SheetName) -> None:
    @app.post(
        f"{PREFIX}/{name}.pdf",
        operation_id=f"print_{name}",
        tags=["prints"],
        summary=f"Print the lesson: {name}",
        response_class=Response,
        responses={200: pdf_answer(), **failures(400, 413, 415, 422)},
        openapi_extra=body_of(JSON),
    )
    async def print_sheet(request: Request, query: Annotated[PrintQuery, Query()]) -> Response:
        """One sheet as a tagged PDF (PDF/UA-1), the same bytes for the same request. Print it at 100 %."""
        wanted = Wanted(query.paper, query.large, tuple(query.language.split(",")), query.story, query.needed_by)
        made = await run_in_threadpool(_made, await desk.asked(request), desk.rules, wanted, name)
        return Response(made, media_type="application/pdf", headers=named(f"{name}.pdf"))


def _kit_table(app: FastAPI, desk: Desk) -> None:
    @app.post(
        f"{PREFIX}/kit.csv",
        operation_id="print_kit_table",
        tags=["prints"],
        summary="The kit list as a table",
        response_class=Response,
        responses={
            200: {"description": "CSV (RFC 4180), UTF-8", "content": {"text/csv": {}}},
            **failures(400, 413, 415, 422),
        },
        openapi_extra=body_of(JSON),
    )
    async def kit_table(request: Request) -> Response:
        made = await run_in_threadpool(_table, await desk.asked(request), desk.rules)
        return Response(made.encode(), media_type="text/csv", headers=named("kit.csv"))


def _table(asked: RecommendationRequest, rules: CompiledRules) -> str:
    try:
        return kit_csv(lesson_of(asked, rules, Wanted()))
    except NotPrintable as error:
        raise refused(error) from None


def _calendar(app: FastAPI, desk: Desk) -> None:
    @app.post(
        f"{PREFIX}/lesson.ics",
        operation_id="print_calendar",
        tags=["prints"],
        summary="The lessons as calendar events",
        response_class=Response,
        responses={
            200: {"description": "iCalendar (RFC 5545)", "content": {"text/calendar": {}}},
            **failures(400, 413, 415, 422),
        },
        openapi_extra=body_of(JSON),
    )
    async def lesson_calendar(request: Request, query: Annotated[CalendarQuery, Query()]) -> Response:
        made = await run_in_threadpool(_events, await desk.asked(request), desk.rules, query.start)
        return Response(made, media_type="text/calendar", headers=named("lesson.ics"))


def _events(asked: RecommendationRequest, rules: CompiledRules, starts: list[datetime]) -> bytes:
    request = asked.model_copy(update={"include": [Include.TIMETABLE]})
    try:
        return calendar(answer_to(request, rules), starts)
    except NotPrintable as error:
        raise refused(error) from None


def pdf_answer() -> dict[str, Any]:
    return {"description": "The sheet", "content": {"application/pdf": {}}}


def named(file: str) -> dict[str, str]:
    return {"Content-Disposition": f'inline; filename="{file}"'}
