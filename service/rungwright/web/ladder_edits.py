"""Edits of a ladder: one button each, or a colleague's file; checked at once; two coaches at once lose nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.ladder_keeping import edit_from, put_together, started_from
from rungwright.api.problems import ProblemError, invalid
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import LadderMergeDraft
from rungwright.domain.ladder_report import LadderMerge, MergeConflict
from rungwright.store import Ladders
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import whole
from rungwright.web.ladder_form import at_places, read_document, read_edits
from rungwright.web.ladder_pages import ladder_page
from rungwright.web.ladder_view import standing


@dataclass(frozen=True)
class ClashPage(View):
    """Both changed the same thing in different ways: the coach who comes second chooses, with both in view.

    `source`: "file" where one of the two is a colleague's file.
    """

    template: ClassVar[str] = "ladder_clash.html"
    id: str
    name: str
    conflicts: list[MergeConflict]
    added: list[str]
    from_version: int
    onto: int
    document: str
    source: str


@dataclass(frozen=True)
class PutInPage(View):
    template: ClassVar[str] = "ladder_put_in.html"
    id: str
    name: str
    versions: list[tuple[str, str]]
    """what the file may have started from: value of the field, words"""
    chosen: str
    document: str
    wrong: list[str]


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
            return _clash(desk, request, id, seen, *clash, source="page")
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
        if saved:
            return go_to(_whats_new(id, newest))
        return _clash(desk, request, id, draft.from_version, ladder, made, source=str(form.get("source", "page")))

    def put_in(request: Request) -> Response:
        return _put_in_page(desk, request, FormData(), [])

    def put_in_file(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        try:
            ladder = read_document(str(form.get("document", "")))
            with desk.store.reading() as session:
                ladders = Ladders(session, caller)
                newest = ladders.find(id).version
                told = whole(str(form.get("from_version", "")))
                seen = told if isinstance(told, int) else started_from(ladders, id, ladder)
            draft = LadderMergeDraft(from_version=max(seen, 1), ladder=ladder)
            made, saved = put_together(desk.store, caller, id, {newest}, draft, desk.rules)
        except ProblemError as error:
            return _put_in_page(desk, request, form, at_places(error))
        return go_to(_whats_new(id, newest)) if saved else _clash(desk, request, id, seen, ladder, made, source="file")

    return [
        Route("/ladders/{id}/edits", posted(edit), methods=["POST"]),
        Route("/ladders/{id}/merge", posted(merge), methods=["POST"]),
        Route("/ladders/{id}/put-in", put_in),
        Route("/ladders/{id}/put-in", posted(put_in_file), methods=["POST"]),
    ]


def _whats_new(id: str, before: int) -> str:
    return f"/ladders/{id}/compare?with=before:{before}"


def _put_in_page(desk: Desk, request: Request, form: FormData, wrong: list[str]) -> Response:
    """Raises NotAllowed, NotThere."""
    id, caller = request.path_params["id"], request.state.caller
    caller.must_coach()
    with desk.store.reading() as session:
        ladders = Ladders(session, caller)
        row = ladders.find(id)
        versions = [(str(row.version), f"As it is now: {standing(row.body)}")]
        versions += [
            (str(past.version), f"As it was until {past.replaced_at:%Y-%m-%d %H:%M} UTC: {standing(past.body)}")
            for past in ladders.history(id)
        ]
    chosen, document = (str(form.get(field, "")) for field in ("from_version", "document"))
    view = PutInPage(id, row.body.name, versions, chosen, document, wrong)
    return desk.show(request, view, 422 if wrong else 200)


def _clash(
    desk: Desk, request: Request, id: str, seen: int, mine: Ladder, made: LadderMerge, *, source: str
) -> Response:
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
        source=source,
    )
    return desk.show(request, view, 409)
