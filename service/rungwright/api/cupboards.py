"""Routes of cupboards, and of the lessons that take from them."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import asdict
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session

from rungwright.api.documented import creates, failures, replaces, shows
from rungwright.api.keeping import ArchiveQuery, Keeper, SectionQuery, draft_of, named_in, page_of, shown
from rungwright.api.kept_views import HeldMaterial, KeptCupboard, KeptLesson
from rungwright.api.problems import invalid
from rungwright.api.views import Page
from rungwright.domain.keeping import CupboardDraft, LessonDraft, LessonState
from rungwright.domain.section import Stock
from rungwright.recommend.problem import FieldProblem, unknown
from rungwright.rulebase import RuleBase
from rungwright.store import Answers, Caller, Cupboards, Lessons, Sections
from rungwright.store.lessons import NoCupboard, drawn
from rungwright.store.tables import CupboardRow, LessonRow


def add_routes(app: FastAPI, keeper: Keeper, base: RuleBase) -> None:
    _cupboards(app, keeper, base)
    _lessons(app, keeper, base)


def _cupboards(app: FastAPI, keeper: Keeper, base: RuleBase) -> None:
    def show(session: Session, caller: Caller, id: str) -> KeptCupboard:
        cupboards = Cupboards(session, caller)
        return cupboard_view(cupboards, cupboards.find(id), base)

    @app.get(
        "/v1/cupboards",
        operation_id="list_cupboards",
        tags=["cupboards"],
        summary="List cupboards, a page at a time",
        responses=failures(400),
    )
    async def list_cupboards(request: Request, query: Annotated[ArchiveQuery, Query()]) -> Page[KeptCupboard]:
        def work(session: Session, caller: Caller) -> Page[KeptCupboard]:
            cupboards = Cupboards(session, caller)
            found = cupboards.list(after=query.cursor, limit=query.limit, archived=query.archived)
            return page_of(found, lambda row: cupboard_view(cupboards, row, base))

        return await keeper.read(request, work)

    @app.post(
        "/v1/cupboards",
        operation_id="create_cupboard",
        tags=["cupboards"],
        summary="Keep a cupboard",
        **creates(KeptCupboard, CupboardDraft),
    )
    async def create_cupboard(request: Request) -> Response:
        draft, raw = await draft_of(request, CupboardDraft)
        check_materials(draft.materials, base)
        return await keeper.create(request, lambda *at: Cupboards(*at).add(draft).id, show, raw)

    @app.get(
        "/v1/cupboards/{id}",
        operation_id="get_cupboard",
        tags=["cupboards"],
        summary="One cupboard, with what is reserved and what is free",
        **shows(KeptCupboard),
    )
    async def get_cupboard(id: str, request: Request) -> Response:
        return shown(await keeper.read(request, lambda session, caller: show(session, caller, id)))

    @app.put(
        "/v1/cupboards/{id}",
        operation_id="replace_cupboard",
        tags=["cupboards"],
        summary="Change or archive a cupboard",
        **replaces(KeptCupboard, CupboardDraft),
    )
    async def replace_cupboard(id: str, request: Request) -> Response:
        draft, _ = await draft_of(request, CupboardDraft)
        check_materials(draft.materials, base)

        def work(session: Session, caller: Caller, versions: set[int] | None) -> None:
            Cupboards(session, caller).change(id, versions, draft)

        return await keeper.replace(request, id, work, show)


def _lessons(app: FastAPI, keeper: Keeper, base: RuleBase) -> None:
    @app.get(
        "/v1/lessons",
        operation_id="list_lessons",
        tags=["cupboards"],
        summary="List lessons, a page at a time",
        responses=failures(400),
    )
    async def list_lessons(request: Request, query: Annotated[SectionQuery, Query()]) -> Page[KeptLesson]:
        def work(session: Session, caller: Caller) -> Page[KeptLesson]:
            lessons = Lessons(session, caller)
            found = lessons.list(section=query.section_id, after=query.cursor, limit=query.limit)
            return page_of(found, lambda row: lesson_view(lessons, row))

        return await keeper.read(request, work)

    @app.post(
        "/v1/lessons",
        operation_id="create_lesson",
        tags=["cupboards"],
        summary="Plan a lesson: reserve its kit in the section's cupboard",
        **creates(KeptLesson, LessonDraft),
    )
    async def create_lesson(request: Request) -> Response:
        """Without `materials`, it takes the kit of the kept answer, as far as the cupboard has it."""
        draft, raw = await draft_of(request, LessonDraft)
        check_materials(draft.materials or (), base)

        def work(session: Session, caller: Caller) -> str:
            materials = _materials(session, caller, draft, base)
            try:
                with named_in("/section_id", "section"):
                    return Lessons(session, caller).add(draft, materials, base.materials).id
            except NoCupboard as error:
                raise invalid([FieldProblem("/section_id", str(error))]) from None

        return await keeper.create(request, work, show_lesson, raw)

    @app.get(
        "/v1/lessons/{id}", operation_id="get_lesson", tags=["cupboards"], summary="One lesson", **shows(KeptLesson)
    )
    async def get_lesson(id: str, request: Request) -> Response:
        return shown(await keeper.read(request, lambda session, caller: show_lesson(session, caller, id)))

    @app.put(
        "/v1/lessons/{id}",
        operation_id="replace_lesson",
        tags=["cupboards"],
        summary="Change a lesson: taught, dropped, another day, other amounts",
        **replaces(KeptLesson, LessonDraft),
    )
    async def replace_lesson(id: str, request: Request) -> Response:
        """Taught, what is not used again is subtracted from the cupboard; changed back, it is given back."""
        draft, _ = await draft_of(request, LessonDraft)
        check_materials(draft.materials or (), base)

        def work(session: Session, caller: Caller, versions: set[int] | None) -> None:
            lessons = Lessons(session, caller)
            row = lessons.find_version(id, versions)
            if draft.section_id != row.section_id:
                wrong = "a lesson stays with its section; drop it and plan another"
                raise invalid([FieldProblem("/section_id", wrong)])
            said, known = draft, row.recommendation_id
            if known is not None and not Answers(session, caller).readable(known):
                # What the caller could not see, the caller does not change.
                said = draft.model_copy(update={"recommendation_id": known})
            if said.recommendation_id != known:
                materials = _materials(session, caller, said, base, but=[id])
            else:
                # About the same answer: what was reserved stays, unless other amounts are told.
                materials = row.materials if said.materials is None else said.materials
            lessons.change(id, versions, said, materials, base.materials)

        return await keeper.replace(request, id, work, show_lesson)


def _materials(
    session: Session, caller: Caller, draft: LessonDraft, base: RuleBase, *, but: Collection[str] = ()
) -> Sequence[Stock]:
    kit = None
    if draft.recommendation_id is not None:
        with named_in("/recommendation_id", "recommendation"):
            kit = json.loads(Answers(session, caller).find(draft.recommendation_id).answer)["kit"]
    if draft.materials is not None:
        return draft.materials
    if kit is None:
        wrong = "this answer was kept without its kit; ask with `kit` in `include`, or give `materials`"
        raise invalid([FieldProblem("/recommendation_id", wrong)])
    with named_in("/section_id", "section"):
        section = Sections(session, caller).find(draft.section_id)
    if section.cupboard_id is None:
        raise invalid([FieldProblem("/section_id", "This section draws from no cupboard; give it one first.")])
    cupboards = Cupboards(session, caller)
    held = cupboards.held(cupboards.find(section.cupboard_id, to_change=True), base.materials, but=but)
    lines = [(item["material"], item["for_class"]) for item in kit["items"]]
    return drawn(lines, section.body, held, base.materials)


def cupboard_view(cupboards: Cupboards, row: CupboardRow, base: RuleBase) -> KeptCupboard:
    return KeptCupboard(
        id=row.id,
        version=row.version,
        created_at=row.created_at,
        updated_at=row.updated_at,
        archived=row.archived,
        label=row.label,
        materials=[HeldMaterial(**asdict(held)) for held in cupboards.held(row, base.materials)],
    )


def lesson_view(lessons: Lessons, row: LessonRow) -> KeptLesson:
    """The id of an answer that the caller may not read is a digest of needs, among others: it is not shown."""
    answers = Answers(lessons.session, lessons.caller)
    return KeptLesson(
        id=row.id,
        version=row.version,
        created_at=row.created_at,
        updated_at=row.updated_at,
        section_id=row.section_id,
        cupboard_id=row.cupboard_id,
        recommendation_id=row.recommendation_id if answers.readable(row.recommendation_id) else None,
        on=row.taught_on,
        state=LessonState(row.state),
        materials=row.materials,
    )


def show_lesson(session: Session, caller: Caller, id: str) -> KeptLesson:
    lessons = Lessons(session, caller)
    return lesson_view(lessons, lessons.find(id))


def check_materials(stocks: Sequence[Stock], base: RuleBase) -> None:
    """Raises ProblemError 422."""
    wrong = [
        unknown(f"/materials/{i}/material", "material", stock.material, base.materials)
        for i, stock in enumerate(stocks)
        if stock.material not in base.materials
    ]
    if wrong:
        raise invalid(wrong)
