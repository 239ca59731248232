"""Routes of ladders that are kept: drafts with versions, edits of two coaches, and sections on rungs."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlalchemy.orm import Session
from starlette.convertors import StringConvertor, register_url_convertor

from rungwright.api import ladder_keeping as work
from rungwright.api.documented import creates, failures, replaces, shows
from rungwright.api.keeping import ArchiveQuery, Keeper, PageQuery, draft_of, page_of, shown
from rungwright.api.kept_views import KeptLadder, LadderSections, MergedLadder, PastLadder, RungPlace
from rungwright.api.ladders import WORK
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.api.views import Page
from rungwright.domain.keeping import Text
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import (
    LadderDraft,
    LadderEdits,
    LadderForkDraft,
    LadderMergeDraft,
    RungPlaceDraft,
)
from rungwright.domain.ladder_report import LadderComparison, LadderReport
from rungwright.ladders.compare import compare
from rungwright.ladders.report import report
from rungwright.rulebase import CompiledRules
from rungwright.sheets import LadderSheet
from rungwright.store import Caller, Ladders
from rungwright.store.tables import LadderRow

TAG = ["kept ladders"]
_OTHERS = [*WORK, *(f"{name.value}.pdf" for name in LadderSheet)]


class _LadderId(StringConvertor):
    """Any text but the names of the addresses beside it, which take other methods."""

    regex = f"(?!(?:{'|'.join(map(re.escape, _OTHERS))})$)[^/]+"


register_url_convertor("ladder", _LadderId())


class HistoryQuery(PageQuery):
    published: bool = Field(default=False, description="published versions alone")


class PublishedQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    published: int | None = Field(default=None, ge=1, le=1_000_000, description="a published version; none: as it is")


class OtherQuery(PublishedQuery):
    other: Text | None = Field(default=None, max_length=60, description="another ladder that is kept")


def add_routes(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    _documents(app, keeper, rules)
    _edits(app, keeper, rules)
    _looks(app, keeper, rules)
    _sections(app, keeper, rules)


def ladder_view(row: LadderRow) -> KeptLadder:
    return KeptLadder(
        id=row.id,
        version=row.version,
        created_at=row.created_at,
        updated_at=row.updated_at,
        archived=row.archived,
        ladder=row.body,
    )


def show(session: Session, caller: Caller, id: str) -> KeptLadder:
    return ladder_view(Ladders(session, caller).find(id))


def _documents(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    @app.get(
        "/v1/ladders", operation_id="list_ladders", tags=TAG, summary="List ladders, a page at a time",
        responses=failures(400),
    )  # fmt: skip
    async def list_ladders(request: Request, query: Annotated[ArchiveQuery, Query()]) -> Page[KeptLadder]:
        def read(session: Session, caller: Caller) -> Page[KeptLadder]:
            ladders = Ladders(session, caller)
            return page_of(ladders.list(after=query.cursor, limit=query.limit, archived=query.archived), ladder_view)

        return await keeper.read(request, read)

    @app.post(
        "/v1/ladders",
        operation_id="create_ladder",
        tags=TAG,
        summary="Keep a ladder: one that was drafted, or a file that was shared",
        **creates(KeptLadder, LadderDraft),
    )
    async def create_ladder(request: Request) -> Response:
        """For coaches. The document goes in as it came out of `draft`, `check` or another school's `file`."""
        draft, raw = await draft_of(request, LadderDraft)
        work.checked_draft(draft, rules)
        return await keeper.create(request, lambda *at: Ladders(*at).add(draft.ladder).id, show, raw)

    @app.get("/v1/ladders/{id:ladder}", operation_id="get_ladder", tags=TAG, summary="One ladder", **shows(KeptLadder))
    async def get_ladder(id: str, request: Request) -> Response:
        return shown(await keeper.read(request, lambda session, caller: show(session, caller, id)))

    @app.put(
        "/v1/ladders/{id:ladder}",
        operation_id="replace_ladder",
        tags=TAG,
        summary="Change a ladder as a whole, or archive it",
        **replaces(KeptLadder, LadderDraft),
    )
    async def replace_ladder(id: str, request: Request) -> Response:
        """For coaches. What stood there stays in the history; a published version never changes."""
        draft, _ = await draft_of(request, LadderDraft)

        def write(caller: Caller, versions: set[int] | None) -> KeptLadder:
            work.replace(keeper.open(), caller, id, versions, draft, rules)
            return _now(keeper, caller, id)

        return await keeper.replace_by(request, id, write, show)

    @app.post(
        "/v1/ladders/{id}/fork",
        operation_id="fork_ladder",
        tags=TAG,
        summary="Make a ladder of one's own that starts as this one",
        **creates(KeptLadder, LadderForkDraft, 404),
    )
    async def fork_ladder(id: str, request: Request) -> Response:
        """For coaches. It begins as a draft and tells which version it came from."""
        draft, raw = await draft_of(request, LadderForkDraft)
        fork = await keeper.read(request, lambda *at: work.forked(*at, id, draft, rules))
        return await keeper.create(request, lambda *at: Ladders(*at).add(fork).id, show, raw, at="/v1/ladders")


def _edits(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    @app.put(
        "/v1/ladders/{id}/edits",
        operation_id="edit_ladder",
        tags=TAG,
        summary="Edit a ladder: rename, pin, insert, set, publish, revise and more",
        **replaces(KeptLadder, LadderEdits),
    )
    async def edit_ladder(id: str, request: Request) -> Response:
        """For coaches. It is checked again after each edit; one that is refused says why, and none is made."""
        draft, _ = await draft_of(request, LadderEdits)

        def write(caller: Caller, versions: set[int] | None) -> KeptLadder:
            work.edit(keeper.open(), caller, id, versions, draft.edits, rules)
            return _now(keeper, caller, id)

        return await keeper.replace_by(request, id, write, show)

    @app.put(
        "/v1/ladders/{id}/merge",
        operation_id="merge_into_ladder",
        tags=TAG,
        summary="Put an edit of an older version together with what is kept now",
        **replaces(MergedLadder, LadderMergeDraft),
    )
    async def merge_into_ladder(id: str, request: Request) -> Response:
        """For coaches. Saved only when each conflict is settled by a choice; until then nothing is written."""
        draft, _ = await draft_of(request, LadderMergeDraft)

        def write(caller: Caller, versions: set[int] | None) -> MergedLadder:
            made, saved = work.put_together(keeper.open(), caller, id, versions, draft, rules)
            kept = _now(keeper, caller, id)
            return MergedLadder(**{k: getattr(kept, k) for k in KeptLadder.model_fields}, saved=saved, merge=made)

        return await keeper.replace_by(request, id, write, show)


def _looks(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    @app.get(
        "/v1/ladders/{id}/report",
        operation_id="report_ladder",
        tags=TAG,
        summary="Everything that is worked out about a ladder",
        responses=failures(404, 422),
    )
    async def report_ladder(id: str, request: Request) -> LadderReport:
        def read(session: Session, caller: Caller) -> LadderReport:
            with work.refusals():
                return report(Ladders(session, caller).find(id).body, rules)

        return await keeper.read(request, read)

    @app.get(
        "/v1/ladders/{id}/history",
        operation_id="get_ladder_history",
        tags=TAG,
        summary="What a ladder said before it was changed",
        responses=failures(400, 404),
    )
    async def get_ladder_history(
        id: str, request: Request, query: Annotated[HistoryQuery, Query()]
    ) -> Page[PastLadder]:
        """Newest first, a page at a time; `cursor` is the version before which it goes on."""
        before = query.cursor
        if before is not None and not (before.isascii() and before.isdigit() and len(before) < 10):
            raise ProblemError(ProblemType.INVALID_QUERY, "`cursor` is the `next` of the page before.")

        def read(session: Session, caller: Caller) -> Page[PastLadder]:
            rows = Ladders(session, caller).history(
                id, published=query.published, before=before and int(before), limit=query.limit + 1
            )
            items = [PastLadder(version=r.version, replaced_at=r.replaced_at, ladder=r.body) for r in rows]
            more = len(items) > query.limit
            return Page(items=items[: query.limit], next=str(items[query.limit - 1].version) if more else None)

        return await keeper.read(request, read)

    @app.get(
        "/v1/ladders/{id}/compare",
        operation_id="compare_kept_ladders",
        tags=TAG,
        summary="What differs from another ladder, or from a published version",
        responses=failures(400, 404, 422),
    )
    async def compare_kept_ladders(
        id: str, request: Request, query: Annotated[OtherQuery, Query()]
    ) -> LadderComparison:
        """With nothing said, from the version published before. The older one is the first."""

        def read(session: Session, caller: Caller) -> LadderComparison:
            pair = work.other_of(session, caller, id, other=query.other, published=query.published)
            with work.refusals():
                return compare(*pair, rules)

        return await keeper.read(request, read)

    @app.get(
        "/v1/ladders/{id}/file",
        operation_id="get_ladder_file",
        tags=TAG,
        summary="The file that coaches share",
        response_model=Ladder,
        responses=failures(400, 404),
    )
    async def get_ladder_file(id: str, request: Request, query: Annotated[PublishedQuery, Query()]) -> Response:
        """Kept elsewhere with `POST /v1/ladders`, it is the same document."""

        return work.as_file(await keeper.read(request, lambda *at: Ladders(*at).document(id, query.published)))


def _sections(app: FastAPI, keeper: Keeper, rules: CompiledRules) -> None:
    @app.get(
        "/v1/ladders/{id}/sections",
        operation_id="list_ladder_sections",
        tags=TAG,
        summary="Sections on the rungs, results by rung, and the kit of all",
        responses=failures(404, 422),
    )
    async def list_ladder_sections(id: str, request: Request) -> LadderSections:
        """Results of a rung are shown from three sections on, and no section is named with them."""
        return await keeper.read(request, lambda *at: work.standing(*at, id, rules))

    @app.put(
        "/v1/ladders/{id}/sections",
        operation_id="put_section_on_rung",
        tags=TAG,
        summary="Put a section on a rung, in a week",
        **replaces(RungPlace, RungPlaceDraft),
    )
    async def put_section_on_rung(id: str, request: Request) -> Response:
        """For coaches. With nothing but the section, it is taken off the ladder.

        `If-Match` is the section's `version` in the list, so that a colleague who puts it elsewhere meanwhile is heard.
        """
        draft, _ = await draft_of(request, RungPlaceDraft)
        return await keeper.replace(
            request,
            id,
            lambda session, caller, versions: work.put_on_rung(session, caller, id, draft, versions),
            lambda session, caller, id: work.place_now(session, caller, id, draft.section_id),
        )


def _now(keeper: Keeper, caller: Caller, id: str) -> KeptLadder:
    with keeper.open().reading() as session:
        return show(session, caller, id)
