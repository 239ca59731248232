"""Sections: the start page, the editor, putting one away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from sqlalchemy.orm import Session
from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.domain.ask import Direction
from rungwright.domain.keeping import SectionDraft
from rungwright.domain.run import Run
from rungwright.recommend.wording import ASKED, grades, listed
from rungwright.rulebase.words import counted
from rungwright.store import Answers, Caller, Cupboards, Lessons, Runs, Sections, Stale
from rungwright.store.tables import AnswerRow, RunRow, SectionRow
from rungwright.web import demo_school, section_form
from rungwright.web.asked import Asked
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, seen
from rungwright.web.once import FIELD, made_once, new_once
from rungwright.web.saying import day

ALL = 200
"""Sections on the start page: a school's."""
MANY = 12
"""Sections from which on they can be searched."""


@dataclass(frozen=True)
class Card:
    """One section with the next thing to do."""

    id: str
    label: str
    who: str
    last: str
    next: str
    plan_id: str | None
    """a plan that waits to be taught"""
    mine: bool
    ask_with: list[tuple[str, str]]
    """what the next ask takes over from the last one"""


@dataclass(frozen=True)
class StartPage(View):
    template: ClassVar[str] = "start.html"
    planned: list[Card]
    """with a plan that waits to be taught"""
    others: list[Card]
    all: int
    find: str | None
    """part of a name that is looked for; None where there are too few to look for one"""
    directions: list[tuple[str, str]]
    demo: bool
    """whether sections of the demo school are among them"""


@dataclass(frozen=True)
class AwayPage(View):
    template: ClassVar[str] = "away.html"
    sections: list[tuple[str, str, str]]
    """id, label, grade"""


@dataclass(frozen=True)
class SectionPage(View):
    template: ClassVar[str] = "section.html"
    id: str | None
    version: int | None
    mine: bool
    may_change: bool
    archived: bool
    follows: str
    """the section of the year before, if its results count"""
    once: str
    form: Filled
    options: section_form.Options
    cupboards: list[tuple[str, str]]
    changed_meanwhile: bool


def routes(desk: Desk) -> list[Route]:
    def start(request: Request) -> Response:
        caller = request.state.caller
        with desk.store.reading() as session:
            rows = Sections(session, caller).list(after=None, limit=ALL).items
            find = request.query_params.get("find", "").strip()[:80] if len(rows) >= MANY else None
            named = [row for row in rows if (find or "").casefold() in row.body.label.casefold()]
            cards = [_card(desk, session, caller, row) for row in named]
            demo = any(demo_school.is_demo(row) for row in rows)
        planned = [card for card in cards if card.plan_id]
        others = [card for card in cards if not card.plan_id]
        directions = [(direction.value, ASKED[direction]) for direction in Direction]
        return desk.show(request, StartPage(planned, others, len(rows), find, directions, demo))

    def away(request: Request) -> Response:
        with desk.store.reading() as session:
            rows = Sections(session, request.state.caller).list(after=None, limit=ALL, archived=True).items
        return desk.show(request, AwayPage([(row.id, row.body.label, grades(row.body.grades)) for row in rows]))

    def page(request: Request, form: Filled, row: SectionRow | None, *, stale: bool = False) -> Response:
        caller = request.state.caller
        with desk.store.reading() as session:
            found = list(Cupboards(session, caller).list(after=None, limit=ALL).items)
            if row and row.cupboard_id and row.cupboard_id not in [cupboard.id for cupboard in found]:
                found.append(Cupboards(session, caller).find(row.cupboard_id))  # it was put away
            before = Sections(session, caller).find(row.follows_id).body.label if row and row.follows_id else ""
        view = SectionPage(
            id=row.id if row else None,
            version=row.version if row else None,
            mine=row is None or caller.owns(row.owner_id),
            may_change=row is not None and caller.may_write_in(row.owner_id),
            archived=row is not None and row.archived,
            follows=before,
            once=form.value(FIELD) or new_once(),
            form=form,
            options=section_form.options(desk.base),
            cupboards=[(cupboard.id, cupboard.label) for cupboard in found],
            changed_meanwhile=stale,
        )
        return desk.show(request, view, 409 if stale else 422 if form.wrong else 200)

    def new(request: Request) -> Response:
        return page(request, section_form.EMPTY, None)

    def add(request: Request, form: FormData) -> Response:
        draft, filled = section_form.read(form, desk.base)
        if draft is None:
            return page(request, filled, None)
        caller = request.state.caller
        id = made_once(desk, caller, form, lambda session: Sections(session, caller).add(draft).id)
        return go_to(f"/sections/{id}/ask?ask={_direction(form)}" if form.get("then") else "/")

    def edit(request: Request) -> Response:
        with desk.store.reading() as session:
            sections = Sections(session, request.state.caller)
            row = sections.find(request.path_params["id"])
            section = sections.whole(row)
        return page(request, section_form.filled(section, row.cupboard_id), row)

    def change(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        with desk.store.reading() as session:
            row = Sections(session, caller).find(id)
        draft, filled = section_form.read(form, desk.base, archived=row.archived)
        if draft is None:
            return page(request, filled, row)
        try:
            with desk.store.writing() as session:
                Sections(session, caller).change(id, seen(form), draft)
        except Stale:
            return page(request, filled, row, stale=True)
        return go_to(f"/sections/{id}/ask?ask={_direction(form)}" if form.get("then") else "/")

    def keep_lever(request: Request, form: FormData) -> Response:
        """From an answer: a lever always stays as it is, or is free again."""
        id, lever = request.path_params["id"], str(form.get("lever", ""))
        asked = Asked.read(QueryParams(str(form.get("query", ""))), desk.base)
        with desk.store.writing() as session:
            sections = Sections(session, request.state.caller)
            row = sections.find(id)
            section = sections.whole(row)
            kept = [name for name in section.kept_levers or () if name != lever]
            if form.get("do") == "keep" and lever in desk.base.levers:
                kept.append(lever)
            changed = section.model_copy(update={"kept_levers": kept or None})
            sections.change(id, None, SectionDraft(section=changed, cupboard_id=row.cupboard_id, archived=row.archived))
        return go_to(f"/sections/{id}/ask?{asked.back(lever)}")

    def put_away(request: Request, form: FormData) -> Response:
        with desk.store.writing() as session:
            sections = Sections(session, request.state.caller)
            row = sections.find(request.path_params["id"], to_change=True)
            demo_school.set_archived(sections, row, archived=form.get("do") != "back")
        return go_to("/")

    def remove_demo(request: Request, form: FormData) -> Response:
        with desk.store.writing() as session:
            demo_school.remove(session, request.state.caller)
        return go_to("/")

    def add_demo(request: Request, form: FormData) -> Response:
        with desk.store.writing() as session:
            demo_school.add(session, request.state.caller, desk.rules)
        return go_to("/")

    return [
        Route("/", start),
        Route("/sections/new", new),
        Route("/sections", posted(add), methods=["POST"]),
        Route("/sections/put-away", away),
        Route("/sections/{id}", edit),
        Route("/sections/{id}", posted(change), methods=["POST"]),
        Route("/sections/{id}/kept", posted(keep_lever), methods=["POST"]),
        Route("/sections/{id}/put-away", posted(put_away), methods=["POST"]),
        Route("/demo/remove", posted(remove_demo), methods=["POST"]),
        Route("/demo/add", posted(add_demo), methods=["POST"]),
    ]


def _direction(form: FormData) -> str:
    said = str(form.get("then", ""))
    return said if said in set(Direction) else Direction.FIT.value


def _card(desk: Desk, session: Session, caller: Caller, row: SectionRow) -> Card:
    section = row.body
    run, plan = Runs(session, caller).newest(row.id), Answers(session, caller).newest(row.id)
    waiting = _waiting(session, caller, row.id, plan, run)
    parts = [grades(section.grades), f"{counted(section.students, 'student')} in {counted(section.groups, 'group')}"]
    if waiting:
        step = f"Planned on {day(waiting.created_at)}: print it, teach it, then enter the results."
    elif run:
        step = "Pitch the next lesson."
    else:
        step = "Pitch its first lesson."
    return Card(
        id=row.id,
        label=section.label,
        who=" · ".join([*parts, f"{section.minutes} minutes"]),
        last=_last(run.body, desk) if run else "",
        next=step,
        plan_id=waiting.id if waiting else None,
        mine=caller.owns(row.owner_id),
        ask_with=taken_over(plan, run),
    )


def _waiting(
    session: Session, caller: Caller, section: str, plan: AnswerRow | None, run: RunRow | None
) -> AnswerRow | None:
    """The plan that is to be taught: what has reserved its kit last, else the newest that is younger than the results.

    `plan` and `run`: the newest ones of the section. One that was dropped does not wait.
    """
    lessons, answers = Lessons(session, caller), Answers(session, caller)
    for lesson in reversed(lessons.waiting(section, date.today())):
        if answers.readable(lesson.recommendation_id):
            return answers.find(lesson.recommendation_id)
    if plan is None or (run is not None and plan.created_at <= run.created_at):
        return None
    return plan if lessons.of_plan(section, plan.id) is None else None


def taken_over(plan: AnswerRow | None, run: RunRow | None) -> list[tuple[str, str]]:
    """The challenge, until another one is chosen."""
    if plan is None:
        return [("challenge", run.body.challenge)] if run else []
    challenge = plan.request.challenge
    return [("challenge", challenge if isinstance(challenge, str) else challenge.id)]


def _last(run: Run, desk: Desk) -> str:
    """`On 14 October 2026, 7 of 9 groups carried the weight and 8 of 9 kept the figures dry`: the two weakest."""
    tallies = {name: end or first for name, (first, end) in run.tallies().items()}
    told = sorted((t.met / t.of, name, t) for name, t in tallies.items() if t is not None and t.of)
    if told and told[0][0] == 1:
        return f"On {day(run.on)}, every group met every criterion that was tested."
    of_all = (" groups", "")
    said = [f"{t.met} of {t.of}{of} {desk.base.met[name]}" for (_, name, t), of in zip(told, of_all, strict=False)]
    return f"On {day(run.on)}, {listed(said)}." if said else f"Taught on {day(run.on)}; nothing was tested."
