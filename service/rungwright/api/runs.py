"""Routes of runs: what a section did, and how it went."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from rungwright.api.documented import creates, failures, replaces, shows
from rungwright.api.keeping import Keeper, PageQuery, draft_of, page_of, shown
from rungwright.api.kept_views import KeptRun, PastRun
from rungwright.api.problems import invalid
from rungwright.api.sections import section_now
from rungwright.api.views import Page
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import RunDraft
from rungwright.domain.lever import LeverKind
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.recommend.resolve import resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules, RuleBase
from rungwright.store import Caller, Runs, Sections
from rungwright.store.tables import RunRow


def add_routes(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    base = rules.base

    def show(session: Session, caller: Caller, id: str) -> KeptRun:
        runs = Runs(session, caller)
        return run_view(runs, runs.find(id), base)

    @app.get(
        "/v1/sections/{id}/runs",
        operation_id="list_runs",
        tags=["runs"],
        summary="List the runs of a section, a page at a time",
        responses=failures(400, 404),
    )
    async def list_runs(id: str, request: Request, query: Annotated[PageQuery, Query()]) -> Page[KeptRun]:
        """In the order they were entered, withdrawn ones too."""

        def work(session: Session, caller: Caller) -> Page[KeptRun]:
            runs = Runs(session, caller)
            return page_of(runs.list(id, after=query.cursor, limit=query.limit), lambda r: run_view(runs, r, base))

        return await keeper.read(request, work)

    @app.post(
        "/v1/sections/{id}/runs",
        operation_id="create_run",
        tags=["runs"],
        summary="Enter the results of a run",
        **creates(KeptRun, RunDraft, 404),
    )
    async def create_run(id: str, request: Request) -> Response:
        """By counts or by grid. Settings that are not told are taken as this section would start today."""
        draft, raw = await draft_of(request, RunDraft)

        def work(session: Session, caller: Caller) -> str:
            settings = _settings(session, caller, id, draft.run, rules)
            return Runs(session, caller).add(id, draft, settings).id

        return await keeper.create(request, work, show, raw, at="/v1/runs")

    @app.get("/v1/runs/{id}", operation_id="get_run", tags=["runs"], summary="One run", **shows(KeptRun))
    async def get_run(id: str, request: Request) -> Response:
        return shown(await keeper.read(request, lambda session, caller: show(session, caller, id)))

    @app.put(
        "/v1/runs/{id}",
        operation_id="correct_run",
        tags=["runs"],
        summary="Correct or withdraw a run",
        **replaces(KeptRun, RunDraft),
    )
    async def correct_run(id: str, request: Request) -> Response:
        """What stood there before stays in the run's history."""
        draft, _ = await draft_of(request, RunDraft)

        def work(session: Session, caller: Caller, versions: set[int] | None) -> None:
            correct(session, caller, id, versions, draft, rules)

        return await keeper.replace(request, id, work, show)

    @app.get(
        "/v1/runs/{id}/history",
        operation_id="get_run_history",
        tags=["runs"],
        summary="What a run said before it was corrected",
        responses=failures(404),
    )
    async def get_run_history(id: str, request: Request) -> Page[PastRun]:
        """Newest first."""

        def work(session: Session, caller: Caller) -> Page[PastRun]:
            runs = Runs(session, caller)
            owned = _owned(runs, runs.find(id))
            items = [
                PastRun(
                    version=past.version,
                    replaced_at=past.replaced_at,
                    withdrawn=past.withdrawn,
                    run=past.body if owned else without_access(past.body, base),
                )
                for past in runs.history(id)
            ]
            return Page(items=items, next=None)

        return await keeper.read(request, work)


def correct(
    session: Session, caller: Caller, id: str, versions: set[int] | None, draft: RunDraft, rules: CompiledRules
) -> None:
    """Put a run in the place of what it said before. Raises NotThere, NotAllowed, Stale, ProblemError 422."""
    runs = Runs(session, caller)
    row = runs.find_version(id, versions)
    settings = _settings(session, caller, row.section_id, draft.run, rules)
    if (draft.run.settings, draft.run.challenge) == (row.body.settings, row.body.challenge):
        # A corrected count is about the same lesson: what was worked out for that day stays.
        settings = row.settings
    runs.change(id, versions, draft, settings)


def run_view(runs: Runs, row: RunRow, base: RuleBase) -> KeptRun:
    return KeptRun(
        id=row.id,
        version=row.version,
        created_at=row.created_at,
        updated_at=row.updated_at,
        section_id=row.section_id,
        withdrawn=row.withdrawn,
        run=row.body if _owned(runs, row) else without_access(row.body, base),
        settings=open_settings(row.settings, base),
    )


def _owned(runs: Runs, row: RunRow) -> bool:
    return runs.caller.owns(Sections(runs.session, runs.caller).find(row.section_id).owner_id)


def without_access(run: Run, base: RuleBase) -> Run:
    """What was set for a support would tell that there is one."""
    return run.model_copy(update={"settings": open_settings(run.settings, base)}) if run.settings else run


def open_settings(settings: Mapping[str, Setting], base: RuleBase) -> dict[str, Setting]:
    return {k: v for k, v in settings.items() if k not in base.levers or base.levers[k].kind != LeverKind.ACCESS}


def _settings(session: Session, caller: Caller, section_id: str, run: Run, rules: CompiledRules) -> dict[str, Setting]:
    """Every setting of a run's day; needs are left out of it. Raises ProblemError 422, NotThere."""
    row = Sections(session, caller).find(section_id)
    section = section_now(session, caller, row, rules.base, needs=False)
    return settings_of_day(section, run, rules)


def settings_of_day(section: Section, run: Run, rules: CompiledRules) -> dict[str, Setting]:
    """Raises ProblemError 422 for names that the challenge does not know, at the fields of `run`."""
    request = RecommendationRequest(challenge=run.challenge, section=section, runs=[run])
    try:
        resolve(request, rules)
        told = request.model_copy(update={"runs": [], "settings": run.settings or {}})
        return dict(start(resolve(told, rules)).settings)
    except RequestProblem as error:
        raise invalid([_at_run(p) for p in error.problems]) from None


def _at_run(problem: FieldProblem) -> FieldProblem:
    at = problem.pointer.removeprefix("/runs/0")
    return FieldProblem(f"/run{at}" if not at.startswith("/section") else at, problem.detail)
