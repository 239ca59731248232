"""The page that answers, the plan that is kept of it, and the brief that is printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from markupsafe import Markup
from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.domain.ask import Direction
from rungwright.domain.recommendation import DeclineReason
from rungwright.recommend.proposals import DECLINE_REASONS
from rungwright.recommend.wording import ASKED
from rungwright.store import Answers
from rungwright.web.answer_view import AnswerView, SetAside, answer_view, set_aside
from rungwright.web.answering import keep_plan, plan_of, work_out
from rungwright.web.asked import TODAY, Asked
from rungwright.web.challenge_pictures import family_picture
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.reserving import Reserved, dropped, reserved


@dataclass(frozen=True)
class Choice:
    """One of a few answers to the same question."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True)
class ChallengeChoice(Choice):
    """A challenge with its picture and what the groups are told to do."""

    picture: Markup
    task: str


@dataclass(frozen=True)
class AnswerPage(View):
    template: ClassVar[str] = "answer.html"
    section_id: str
    answer: AnswerView
    directions: list[Choice]
    notches: list[Choice]
    challenges: list[ChallengeChoice]
    choose: bool
    """whether the challenge is still to be chosen"""
    kept_in_query: list[tuple[str, str]]
    """what the form of the direction passes on"""
    today: dict[str, int]
    query: str
    left_out: list[SetAside]
    stay: list[SetAside]
    always: list[SetAside]
    """levers that stay as they are in every answer for this section"""


@dataclass(frozen=True)
class PlanPage(View):
    template: ClassVar[str] = "plan.html"
    plan_id: str
    section_id: str | None
    answer: AnswerView
    kept_on: object
    reserved: Reserved | None


def routes(desk: Desk) -> list[Route]:
    def ask(request: Request) -> Response:
        """Nothing is kept by looking."""
        section = request.path_params["id"]
        asked = Asked.read(request.query_params, desk.base)
        told, answered = work_out(desk, request.state.caller, section, asked)
        reasons = [DeclineReason(code=code, text=text) for code, text in DECLINE_REASONS]
        view = AnswerPage(
            section_id=section,
            answer=answer_view(answered, asked, desk.base),
            directions=[Choice(d.value, ASKED[d.value], d == asked.direction) for d in Direction],
            notches=[Choice(str(n), _FAR[n], n == asked.notches) for n in _FAR],
            challenges=[
                ChallengeChoice(c.id, c.label, c.id == asked.challenge, family_picture(c.family), c.need)
                for c in desk.base.challenges.values()
            ],
            choose=len(desk.base.challenges) > 1 and "challenge" not in request.query_params,
            kept_in_query=_passed_on(asked),
            today=dict(asked.today),
            query=asked.query(),
            left_out=set_aside(asked, asked.left_out, desk.base, reasons),
            stay=set_aside(asked, asked.stay, desk.base, ()),
            always=set_aside(asked, told.section.kept_levers or (), desk.base, ()),
        )
        return desk.show(request, view)

    def keep(request: Request, form: FormData) -> Response:
        section = request.path_params["id"]
        asked = Asked.read(QueryParams(str(form.get("query", ""))), desk.base)
        reasons = {key.removeprefix("why."): str(code) for key, code in form.items() if key.startswith("why.")}
        id = keep_plan(desk, request.state.caller, section, asked, reasons)
        return go_to(f"/plans/{id}/brief" if form.get("then") == "print" else f"/plans/{id}")

    def plan(request: Request) -> Response:
        caller = request.state.caller
        kept = plan_of(desk, caller, request.path_params["id"])
        asked = Asked(challenge=kept.answered.answer.challenge.id)
        with desk.store.reading() as session:
            held = reserved(session, caller, kept.row.section_id, kept.row.id, desk.base)
        view = PlanPage(
            plan_id=kept.row.id,
            section_id=kept.row.section_id,
            answer=answer_view(kept.answered, asked, desk.base),
            kept_on=kept.row.created_at,
            reserved=held,
        )
        return desk.show(request, view)

    def drop(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        with desk.store.writing() as session:
            row = Answers(session, caller).find(id)
            dropped(session, caller, row.section_id, row.id, desk.base)
        return go_to(f"/plans/{id}")

    return [
        Route("/sections/{id}/ask", ask),
        Route("/sections/{id}/plans", posted(keep), methods=["POST"]),
        Route("/plans/{id}", plan),
        Route("/plans/{id}/drop", posted(drop), methods=["POST"]),
    ]


_FAR = {1: "one step", 2: "two steps", 3: "three steps"}


def _passed_on(asked: Asked) -> list[tuple[str, str]]:
    """What stays when another direction is chosen: levers that stay, and today's numbers have fields of their own."""
    return [("stay", lever) for lever in asked.stay] + [
        (name, str(value)) for name, value in asked.today if name not in TODAY
    ]
