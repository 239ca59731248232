"""The route that reads a roster."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy.orm import Session

from rungwright.api.body import media_type, read_body
from rungwright.api.documented import failures
from rungwright.api.keeping import Keeper
from rungwright.api.kept_views import RosterClassView, RosterReport, RosterSkipped
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.grades import Grade
from rungwright.store import Caller
from rungwright.store.oneroster import BadRoster, Roster, read_roster
from rungwright.store.rosters import Report, Usual, take_in

ZIP = "application/zip"
LIMIT = 16 * 1024 * 1024


class RosterQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    dry_run: bool = Field(default=False, description="tell what would be done, and do nothing")
    grade: Grade | None = Field(default=None, description="the grade of classes that have none in the roster")
    group_size: int = Field(default=3, ge=1, le=8, description="students a group, in sections that are made")
    minutes: int = Field(default=45, ge=5, le=240, description="length of a lesson, in sections that are made")


def add_routes(app: FastAPI, keeper: Keeper) -> None:
    @app.post(
        "/v1/rosters",
        operation_id="read_roster",
        tags=["sections"],
        summary="Make or update sections from a roster in the OneRoster CSV format",
        responses=failures(400, 403, 413, 415, 422),
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {ZIP: {"schema": {"type": "string", "contentMediaType": ZIP}}},
            }
        },
    )
    async def read(request: Request, query: Annotated[RosterQuery, Query()]) -> RosterReport:
        """Only `classes.csv` and `enrollments.csv` of the archive are opened. Students are counted and forgotten.

        Sent again, it changes only what the roster has changed.
        """
        media_type(request, ZIP)
        raw = await read_body(request, LIMIT)
        usual = Usual(group_size=query.group_size, minutes=query.minutes, grade=query.grade)

        try:
            roster = await run_in_threadpool(read_roster, raw)
        except BadRoster as error:
            raise ProblemError(ProblemType.INVALID_REQUEST, f"The roster cannot be read: {error}.") from None

        def work(session: Session, caller: Caller) -> RosterReport:
            return report_view(roster, take_in(session, caller, roster, usual, dry_run=query.dry_run), query.dry_run)

        return await keeper.write(request, work)


def report_view(roster: Roster, report: Report, dry_run: bool) -> RosterReport:
    return RosterReport(
        dry_run=dry_run,
        rows=dict(roster.rows),
        classes=[RosterClassView(**asdict(placed)) for placed in report.placed],
        skipped=[RosterSkipped(**asdict(skipped)) for skipped in report.skipped],
        passed_over=dict(roster.passed_over),
    )
