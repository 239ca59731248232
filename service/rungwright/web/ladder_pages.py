"""Ladders: the list, a draft to look at, a shared file read in, and the page of one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar
from urllib.parse import urlencode

from sqlalchemy.orm import Session
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.ladder_keeping import as_file, checked_draft, forked, labels_on, refusals
from rungwright.api.ladder_prints import LadderSheet, PaperName, kept_sheet
from rungwright.api.ladders import checked, drafted
from rungwright.api.problems import ProblemError, invalid, no_such
from rungwright.api.sections import section_now
from rungwright.domain.ask import Units
from rungwright.domain.grades import GRADE_CODES
from rungwright.domain.ladder import MOST_RUNGS, Ladder
from rungwright.domain.ladder_keeping import LadderDraft, LadderForkDraft
from rungwright.domain.ladder_report import LadderAnswer
from rungwright.domain.ladder_request import LadderCheckRequest, LadderDraftRequest
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.rulebase.words import counted
from rungwright.store import Caller, Cupboards, Ladders, Runs, Sections
from rungwright.store.tables import LadderRow
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, at_fields, whole
from rungwright.web.ladder_form import DRAFT_FIELDS, as_own, at_places, draft_data, read_document, told
from rungwright.web.ladder_view import LadderView, ladder_view, span, standing
from rungwright.web.once import made_once, new_once
from rungwright.web.section_pages import ALL
from rungwright.web.sheet_pages import LANGUAGES, PAPERS

_USUAL = {
    "low": "KG", "high": "12", "students": "24", "group_size": "3", "minutes": "50", "lessons": "2", "from": "usual",
    "easier": "3", "harder": "3",
}  # fmt: skip


@dataclass(frozen=True)
class LadderCard:
    id: str
    name: str
    challenge: str
    standing: str
    who: str
    on_it: str


@dataclass(frozen=True)
class LaddersPage(View):
    template: ClassVar[str] = "ladders.html"
    cards: list[LadderCard]
    archived: bool


@dataclass(frozen=True)
class NewLadderPage(View):
    template: ClassVar[str] = "ladder_new.html"
    form: Filled
    challenges: list[tuple[str, str]]
    grades: list[tuple[str, str]]
    cupboards: list[tuple[str, str]]
    sections: list[tuple[str, str]]
    most: int


@dataclass(frozen=True)
class DraftPage(View):
    """Nothing is kept by looking: the document goes along in the form that keeps it."""

    template: ClassVar[str] = "ladder_draft.html"
    ladder: LadderView
    notes: list[str]
    document: str
    once: str


@dataclass(frozen=True)
class ReadInPage(View):
    template: ClassVar[str] = "ladder_read_in.html"
    document: str
    wrong: list[str]
    once: str


@dataclass(frozen=True)
class LadderPage(View):
    """`number`: the published version that is looked at, where it is not the newest document."""

    template: ClassVar[str] = "ladder.html"
    id: str
    version: int
    archived: bool
    ladder: LadderView
    number: int | None
    prints: list[tuple[str, list[tuple[str, str]]]]
    """what each sheet is called; of each paper its name and the end of the address"""
    published: list[tuple[int, object, str]]
    """number, day and team of each"""
    opened: str
    today: str
    once: str
    refused: list[str] = field(default_factory=list)
    filled: Filled = field(default_factory=lambda: Filled(FormData()))


def routes(desk: Desk) -> list[Route]:
    def listed(request: Request) -> Response:
        archived = request.query_params.get("archived") == "yes"
        with desk.store.reading() as session:
            ladders = Ladders(session, request.state.caller)
            rows = ladders.list(after=None, limit=ALL, archived=archived).items
            cards = [
                _card(desk, row, sum(p.now_on is not None for p in ladders.places(row.id).values())) for row in rows
            ]
        return desk.show(request, LaddersPage(cards, archived))

    def new(request: Request) -> Response:
        return _new_page(desk, request, Filled(FormData(_USUAL)))

    def look(request: Request) -> Response:
        form = FormData(request.query_params.multi_items())
        try:
            answer = _drafted(desk, request.state.caller, form)
        except ProblemError as error:
            return _new_page(desk, request, Filled(form, at_fields(error.errors, DRAFT_FIELDS)))
        ladder = as_own(answer.ladder)
        view = ladder_view(ladder, answer.report, desk.base, {})
        return desk.show(request, DraftPage(view, answer.notes, ladder.model_dump_json(), new_once()))

    def keep(request: Request, form: FormData) -> Response:
        document = str(form.get("document", ""))
        try:
            ladder = read_document(document)
            checked_draft(LadderDraft(ladder=ladder), desk.rules)
        except ProblemError as error:
            return desk.show(request, ReadInPage(document, at_places(error), new_once()), 422)
        caller = request.state.caller
        id = made_once(desk, caller, form, lambda session: Ladders(session, caller).add(ladder).id)
        return go_to(f"/ladders/{id}")

    def read_in(request: Request) -> Response:
        return desk.show(request, ReadInPage("", [], new_once()))

    def one(request: Request) -> Response:
        return ladder_page(desk, request, request.path_params["id"], opened=request.query_params.get("edit", ""))

    def older(request: Request) -> Response:
        return ladder_page(desk, request, request.path_params["id"], number=request.path_params["number"])

    def number_of(request: Request) -> int | None:
        number = whole(request.query_params.get("published", "")[:6])
        return number or None if isinstance(number, int) else None

    def file(request: Request) -> Response:
        with desk.store.reading() as session:
            ladders = Ladders(session, request.state.caller)
            return as_file(ladders.document(request.path_params["id"], number_of(request)))

    def printed(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in set(LadderSheet):
            raise no_such("sheet", name, [known.value for known in LadderSheet])
        query, id = request.query_params, request.path_params["id"]
        paper = PaperName.A4 if query.get("paper") == PaperName.A4 else PaperName.LETTER
        look = {"large": False, "language": query.get("language", RULES_LANGUAGE), "published": number_of(request)}
        with desk.store.reading() as session:
            return kept_sheet(session, request.state.caller, id, desk.rules, LadderSheet(name), paper, **look)

    def fork(request: Request, form: FormData) -> Response:
        number = whole(str(form.get("published", "")) or "0")
        said = {"name": str(form.get("name", "")).strip(), "published": number or None}
        draft = validate(LadderForkDraft, said)
        if isinstance(draft, list):
            raise invalid(draft)
        caller = request.state.caller
        with desk.store.reading() as session:
            made = forked(session, caller, request.path_params["id"], draft, desk.rules)
        id = made_once(desk, caller, form, lambda session: Ladders(session, caller).add(made).id)
        return go_to(f"/ladders/{id}")

    def put_away(request: Request, form: FormData) -> Response:
        id = request.path_params["id"]
        with desk.store.writing() as session:
            ladders = Ladders(session, request.state.caller)
            row = ladders.find(id)
            ladders.change(id, None, row.body, archived=form.get("do") != "back")
        return go_to("/ladders")

    return [
        Route("/ladders", listed),
        Route("/ladders", posted(keep), methods=["POST"]),
        Route("/ladders/new", new),
        Route("/ladders/draft", look),
        Route("/ladders/read-in", read_in),
        Route("/ladders/{id}", one),
        Route("/ladders/{id}/published/{number:int}", older),
        Route("/ladders/{id}/file", file),
        Route("/ladders/{id}/print/{name}", printed),
        Route("/ladders/{id}/fork", posted(fork), methods=["POST"]),
        Route("/ladders/{id}/put-away", posted(put_away), methods=["POST"]),
    ]


def ladder_page(
    desk: Desk,
    request: Request,
    id: str,
    *,
    opened: str = "",
    number: int | None = None,
    refused: ProblemError | None = None,
    filled: FormData | None = None,
) -> Response:
    """The page of a ladder; with `refused`, what is wrong with an edit, and the form stays as it was typed."""
    with desk.store.reading() as session:
        caller = request.state.caller
        ladders = Ladders(session, caller)
        row = ladders.find(id)
        document = ladders.document(id, number)
        past = {p.published: p.body for p in ladders.history(id, published=True)}
        if row.body.published:
            past[row.body.version] = row.body
        labels = labels_on(session, caller, id)
    view = LadderPage(
        id=id,
        version=row.version,
        archived=row.archived,
        ladder=ladder_view(document, told_about(desk, document).report, desk.base, labels if number is None else {}),
        number=number,
        prints=_prints(desk.base.words, number),
        published=[(n, past[n].published.on, past[n].published.by) for n in sorted(past, reverse=True)],
        opened=opened,
        today=date.today().isoformat(),
        once=new_once(),
        refused=told(refused) if refused else [],
        filled=Filled(filled or FormData()),
    )
    return desk.show(request, view, 422 if refused else 200)


def _prints(languages: Iterable[str], number: int | None) -> list[tuple[str, list[tuple[str, str]]]]:
    """The chart in each language, and the hand-out."""
    sheets = [(LadderSheet.WALL_CHART, code) for code in languages] + [(LadderSheet.HAND_OUT, RULES_LANGUAGE)]
    of = {} if number is None else {"published": number}
    found = []
    for name, code in sheets:
        said = "wall chart" if name == LadderSheet.WALL_CHART else "hand-out for teachers"
        said += "" if code == RULES_LANGUAGE else f" in {LANGUAGES.get(code, code)}"
        look = {"language": code, **of}
        found.append((said, [(w, f"{name}?{urlencode({'paper': paper, **look})}") for paper, w in PAPERS.items()]))
    return found


def told_about(desk: Desk, ladder: Ladder) -> LadderAnswer:
    """Raises ProblemError 422 for a ladder that the rule base of today does not know how to read."""
    with refusals():
        return checked(LadderCheckRequest(ladder=ladder, units=Units.BOTH), desk.rules)


def _card(desk: Desk, row: LadderRow, on_it: int) -> LadderCard:
    known = desk.base.challenges.get(row.body.challenge)
    return LadderCard(
        id=row.id,
        name=row.body.name,
        challenge=known.label if known else row.body.challenge,
        standing=standing(row.body),
        who=f"{counted(len(row.body.rungs), 'rung')} · {span(row.body)}",
        on_it=f"{counted(on_it, 'section')} on it" if on_it else "No section on it yet",
    )


def _new_page(desk: Desk, request: Request, form: Filled) -> Response:
    with desk.store.reading() as session:
        caller = request.state.caller
        cupboards = Cupboards(session, caller).list(after=None, limit=ALL).items
        sections = Sections(session, caller).list(after=None, limit=ALL).items
    view = NewLadderPage(
        form=form,
        challenges=[(name, desk.base.challenges[name].label) for name in desk.base.ladders],
        grades=[(code, "K" if code == "KG" else code.lstrip("0")) for code in GRADE_CODES],
        cupboards=[(row.id, row.label) for row in cupboards],
        sections=[(row.id, row.body.label) for row in sections],
        most=MOST_RUNGS,
    )
    return desk.show(request, view, 422 if form.wrong else 200)


def _drafted(desk: Desk, caller: Caller, form: FormData) -> LadderAnswer:
    """Raises ProblemError 422, NotThere."""
    data = draft_data(form)
    with desk.store.reading() as session:
        if form.get("section"):
            data = _around(desk, session, caller, form)
        elif str(form.get("from", "")).startswith("cupboard:"):
            cupboards = Cupboards(session, caller)
            row = cupboards.find(str(form["from"]).removeprefix("cupboard:"))
            data["usual"]["materials"] = [stock.model_dump() for stock in row.materials]
    asked = validate(LadderDraftRequest, {k: v for k, v in data.items() if v is not None})
    if isinstance(asked, list):
        raise invalid(asked)
    with refusals():
        return drafted(asked, desk.rules)


def _around(desk: Desk, session: Session, caller: Caller, form: FormData) -> dict[str, object]:
    """Around what a section did last, or would start with; its needs are left out, for a ladder is shared."""
    challenge = str(form.get("challenge", ""))
    row = Sections(session, caller).find(str(form["section"]))
    section = section_now(session, caller, row, desk.base, needs=False)
    runs = Runs(session, caller).evidence([row.id], challenge)
    plan = desk.base.ladders.get(challenge)
    named = {*plan.same, *(c.lever for c in plan.climbs)} if plan else set()
    settings = {k: v for k, v in (runs[-1].settings or {}).items() if k in named} if runs else {}
    around = {
        "section": section.model_dump(mode="json"),
        "settings": settings,
        "easier": whole(str(form.get("easier", ""))),
        "harder": whole(str(form.get("harder", ""))),
    }
    return {"challenge": challenge, "around": around, "units": "both"}
