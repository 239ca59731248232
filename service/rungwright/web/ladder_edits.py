"""Edits of a ladder: one button each, checked at once; two coaches at once lose nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.ladder_keeping import edit_from, put_together
from rungwright.api.problems import ProblemError, invalid
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import LadderMergeDraft
from rungwright.domain.ladder_report import LadderMerge, MergeConflict
from rungwright.store import Ladders
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import whole
from rungwright.web.ladder_form import read_document, read_edits
from rungwright.web.ladder_pages import ladder_page


@dataclass(frozen=True)
class ClashPage(View):
    """Both changed the same thing in different ways: the coach who comes second chooses, with both in view."""

    template: ClassVar[str] = "ladder_clash.html"
    id: str
    name: str
    conflicts: list[MergeConflict]
    added: list[str]
    from_version: int
    onto: int
    document: str


def routes(desk: Desk) -> list[Route]:
    def edit(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        version = whole(str(form.get("version", "")))
        with desk.store.reading() as session:
            ladders = Ladders(session, caller)
            row = ladders.find(id)
            seen = version if isinstance(version, int) else row.version
            document = ladders.at_version(id, seen)
        rung = str(form.get("rung", ""))
        try:
            edits = read_edits(form, document, desk.base)
            clash = edit_from(desk.store, caller, id, seen, edits, desk.rules)
        except ProblemError as error:
            return ladder_page(desk, request, id, opened=rung, refused=error, filled=form)
        if clash:
            return _clash(desk, request, id, seen, *clash)
        inserted = next((e.id for e in edits if e.do == "insert"), rung)
        taken_out = any(e.do == "remove" for e in edits)
        if taken_out or not inserted:
            return go_to(f"/ladders/{id}")
        return go_to(f"/ladders/{id}?{urlencode({'edit': inserted})}#rung-{inserted}")

    def merge(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        stands = {name.removeprefix("at."): str(v) for name, v in form.items() if name.startswith("at.")}
        ladder = read_document(str(form.get("document", "")))
        onto, seen = whole(str(form.get("onto", ""))), whole(str(form.get("from_version", "")))
        draft = validate(
            LadderMergeDraft, {"from_version": seen, "ladder": ladder.model_dump(mode="json"), "choices": stands}
        )
        if isinstance(draft, list):
            raise invalid(draft)
        with desk.store.reading() as session:
            newest = Ladders(session, caller).find(id).version
        if newest != onto:
            # Changed once more: what was chosen was chosen with something else in view.
            draft = draft.model_copy(update={"choices": {}})
        made, saved = put_together(desk.store, caller, id, {newest}, draft, desk.rules)
        return go_to(f"/ladders/{id}") if saved else _clash(desk, request, id, draft.from_version, ladder, made)

    return [
        Route("/ladders/{id}/edits", posted(edit), methods=["POST"]),
        Route("/ladders/{id}/merge", posted(merge), methods=["POST"]),
    ]


def _clash(desk: Desk, request: Request, id: str, seen: int, mine: Ladder, made: LadderMerge) -> Response:
    with desk.store.reading() as session:
        row = Ladders(session, request.state.caller).find(id)
    view = ClashPage(
        id=id,
        name=row.body.name,
        conflicts=made.conflicts,
        added=made.taken_from_second,
        from_version=seen,
        onto=row.version,
        document=mine.model_dump_json(),
    )
    return desk.show(request, view, 409)
