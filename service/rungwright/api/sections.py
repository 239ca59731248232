"""Routes of sections."""

from __future__ import annotations

from collections.abc import Collection
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from rungwright.api.documented import creates, failures, replaces, shows
from rungwright.api.keeping import ArchiveQuery, Keeper, draft_of, named_in, shown
from rungwright.api.kept_views import KeptSection
from rungwright.api.problems import invalid
from rungwright.api.views import Page
from rungwright.domain.keeping import RolloverDraft, SectionDraft
from rungwright.domain.section import Section
from rungwright.recommend.problem import FieldProblem
from rungwright.recommend.resolve import section_problems
from rungwright.rulebase import RuleBase
from rungwright.store import Caller, Cupboards, Sections
from rungwright.store.sections import LastGrade
from rungwright.store.tables import SectionRow


def add_routes(app: FastAPI, keeper: Keeper, base: RuleBase) -> None:
    @app.get(
        "/v1/sections",
        operation_id="list_sections",
        tags=["sections"],
        summary="List sections, a page at a time",
        responses=failures(400),
    )
    async def list_sections(request: Request, query: Annotated[ArchiveQuery, Query()]) -> Page[KeptSection]:
        def work(session: Session, caller: Caller) -> Page[KeptSection]:
            sections = Sections(session, caller)
            found = sections.list(after=query.cursor, limit=query.limit, archived=query.archived)
            whole = sections.wholes(found.items)
            views = [view(sections, row, section) for row, section in zip(found.items, whole, strict=True)]
            return Page(items=views, next=found.next)

        return await keeper.read(request, work)

    @app.post(
        "/v1/sections",
        operation_id="create_section",
        tags=["sections"],
        summary="Keep a section",
        **creates(KeptSection, SectionDraft),
    )
    async def create_section(request: Request) -> Response:
        draft, raw = await draft_of(request, SectionDraft)
        check_section(draft.section, base)

        def work(session: Session, caller: Caller) -> str:
            with named_in("/cupboard_id", "cupboard"):
                return Sections(session, caller).add(draft).id

        return await keeper.create(request, work, show, raw)

    @app.get(
        "/v1/sections/{id}",
        operation_id="get_section",
        tags=["sections"],
        summary="One section",
        **shows(KeptSection),
    )
    async def get_section(id: str, request: Request) -> Response:
        return shown(await keeper.read(request, lambda session, caller: show(session, caller, id)))

    @app.put(
        "/v1/sections/{id}",
        operation_id="replace_section",
        tags=["sections"],
        summary="Change or archive a section",
        **replaces(KeptSection, SectionDraft),
    )
    async def replace_section(id: str, request: Request) -> Response:
        """The supports of a section are changed by its owner alone; what another sends of them is left aside."""
        draft, _ = await draft_of(request, SectionDraft)
        check_section(draft.section, base)

        def work(session: Session, caller: Caller, versions: set[int] | None) -> None:
            with named_in("/cupboard_id", "cupboard"):
                Sections(session, caller).change(id, versions, draft)

        return await keeper.replace(request, id, work, show)

    @app.post(
        "/v1/sections/{id}/rollover",
        operation_id="roll_over_section",
        tags=["sections"],
        summary="Take a section into a new year",
        **creates(KeptSection, RolloverDraft, 404),
    )
    async def roll_over_section(id: str, request: Request) -> Response:
        """The same students a grade up, as a new section; groups are made anew and supports are asked for anew.

        The old section is archived. Its runs go on to teach about the new one, unless most students are new.
        """
        draft, raw = await draft_of(request, RolloverDraft)

        def work(session: Session, caller: Caller) -> str:
            try:
                return Sections(session, caller).roll_over(id, draft).id
            except LastGrade as error:
                raise invalid([FieldProblem("", str(error))]) from None

        return await keeper.create(request, work, show, raw, at="/v1/sections")


def view(sections: Sections, row: SectionRow, whole: Section) -> KeptSection:
    return KeptSection(
        id=row.id,
        version=row.version,
        created_at=row.created_at,
        updated_at=row.updated_at,
        archived=row.archived,
        mine=sections.caller.owns(row.owner_id),
        cupboard_id=row.cupboard_id,
        follows_id=row.follows_id,
        section=whole,
    )


def show(session: Session, caller: Caller, id: str) -> KeptSection:
    sections = Sections(session, caller)
    row = sections.find(id)
    return view(sections, row, sections.whole(row))


def check_section(section: Section, base: RuleBase) -> None:
    """Raises ProblemError 422 for a name that no challenge of the catalogue knows."""
    if problems := list(section_problems(section, base.challenges.values(), base)):
        raise invalid(problems)


def section_now(
    session: Session,
    caller: Caller,
    row: SectionRow,
    base: RuleBase,
    *,
    needs: bool,
    without: Collection[str] = (),
) -> Section:
    """A section with what is free of its cupboard, and with its needs where they may be used.

    `without`: lessons whose reservations count as free.
    """
    section = Sections(session, caller).whole(row) if needs else row.body
    if row.cupboard_id is None:
        return section
    cupboards = Cupboards(session, caller)
    free = cupboards.for_section(cupboards.find(row.cupboard_id), base.materials, but=without)
    return section.model_copy(update={"materials": free})
