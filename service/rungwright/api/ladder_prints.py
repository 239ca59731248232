"""Routes that print a ladder: a chart for the wall, and a hand-out for teachers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy.orm import Session

from rungwright.api.body import JSON
from rungwright.api.documented import body_of, failures
from rungwright.api.keeping import Keeper, draft_of
from rungwright.api.ladder_keeping import labels_on, refusals
from rungwright.api.prints import named, pdf_answer, refused
from rungwright.domain.ask import Units
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_request import LadderPrintRequest
from rungwright.ladders.report import report
from rungwright.rulebase import CompiledRules
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets import LadderSheet, NotPrintable, PaperName, ladder_printed
from rungwright.store import Caller, Ladders

_SAID = {LadderSheet.WALL_CHART: "one page for the wall", LadderSheet.HAND_OUT: "every rung for teachers"}


class LadderPrintQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    paper: PaperName = PaperName.LETTER
    large: bool = Field(default=False, description="large print, from 18 points; the wall chart has one size")
    language: str = Field(
        default=RULES_LANGUAGE,
        min_length=2,
        max_length=12,
        description="language of the wall chart, which students read; the hand-out is in that of the rules",
    )


class KeptPrintQuery(LadderPrintQuery):
    published: int | None = Field(default=None, ge=1, le=1_000_000, description="a published version; none: as it is")


def add_routes(app: FastAPI, rules: CompiledRules, keeper: Keeper) -> None:
    for name in LadderSheet:
        _of_document(app, rules, name)
        _of_kept(app, rules, keeper, name)


def sheet(
    ladder: Ladder,
    rules: CompiledRules,
    name: LadderSheet,
    paper: PaperName,
    *,
    large: bool,
    language: str = RULES_LANGUAGE,
    units: Units = Units.BOTH,
    sections: Mapping[str, Sequence[str]] | None = None,
) -> Response:
    """The sheet as a PDF. Raises ProblemError 422 for the ladder, 400 for the language."""
    try:
        with refusals():
            told = report(ladder, rules, units.value)
        made = ladder_printed(
            name, ladder, told, rules.base, paper=paper, large=large, language=language, sections=sections
        )
    except NotPrintable as error:
        raise refused(error) from None
    return Response(made, media_type="application/pdf", headers=named(f"{name.value}.pdf"))


def kept_sheet(
    session: Session,
    caller: Caller,
    id: str,
    rules: CompiledRules,
    name: LadderSheet,
    paper: PaperName,
    *,
    large: bool,
    language: str,
    published: int | None,
) -> Response:
    """As `sheet`, of a ladder that is kept; sections stand on the rungs of now. Raises ProblemError 422, NotThere."""
    ladder = Ladders(session, caller).document(id, published)
    sections = labels_on(session, caller, id) if published is None else None
    return sheet(ladder, rules, name, paper, large=large, language=language, sections=sections)


def _of_document(app: FastAPI, rules: CompiledRules, name: LadderSheet) -> None:
    @app.post(
        f"/v1/ladders/{name.value}.pdf",
        operation_id=f"print_ladder_{name.value}",
        tags=["ladders"],
        summary=f"Print a ladder: {_SAID[name]}",
        response_class=Response,
        responses={200: pdf_answer(), **failures(400, 413, 415, 422)},
        openapi_extra=body_of(JSON, model=LadderPrintRequest.__name__),
    )
    async def print_ladder(request: Request, query: Annotated[LadderPrintQuery, Query()]) -> Response:
        """A tagged PDF (PDF/UA-1), the same bytes for the same request."""
        asked, _ = await draft_of(request, LadderPrintRequest)

        def made() -> Response:
            look = {"large": query.large, "language": query.language}
            return sheet(asked.ladder, rules, name, query.paper, units=asked.units, **look)

        return await run_in_threadpool(made)


def _of_kept(app: FastAPI, rules: CompiledRules, keeper: Keeper, name: LadderSheet) -> None:
    @app.get(
        f"/v1/ladders/{{id}}/{name.value}.pdf",
        operation_id=f"print_kept_ladder_{name.value}",
        tags=["kept ladders"],
        summary=f"Print a ladder that is kept: {_SAID[name]}",
        response_class=Response,
        responses={200: pdf_answer(), **failures(400, 404, 422)},
    )
    async def print_kept_ladder(id: str, request: Request, query: Annotated[KeptPrintQuery, Query()]) -> Response:
        """A tagged PDF (PDF/UA-1), the same bytes for the same version and the same sections on it."""

        def made(session: Session, caller: Caller) -> Response:
            asked = {"large": query.large, "language": query.language, "published": query.published}
            return kept_sheet(session, caller, id, rules, name, query.paper, **asked)

        return await keeper.read(request, made)
