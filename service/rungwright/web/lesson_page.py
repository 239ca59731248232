"""The page of a lesson that is being taught: what part it is, how long it lasts, and results tapped as they come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.domain.challenge import Challenge
from rungwright.domain.recommendation import BriefLine, Phase, Recommendation, StationCall, Timetable
from rungwright.rulebase import RuleBase
from rungwright.sheets import late_line
from rungwright.web.answering import plan_of
from rungwright.web.desk import Desk, View
from rungwright.web.forms import Filled, decimal, whole
from rungwright.web.marks import TappedCriterion, tapped

TRIES = (("first", "First test"), ("end", "Second try"))


@dataclass(frozen=True)
class Late:
    """Help for a lesson that runs late. `said` is about the minutes and groups of the form, where it was sent."""

    line: str
    ideas: list[str]
    form: Filled
    said: str


@dataclass(frozen=True)
class LessonPage(View):
    """For the projector: nothing about supports stands here."""

    template: ClassVar[str] = "lesson.html"
    plan_id: str
    title: str
    section: str
    today: str
    lessons: list[tuple[int, list[Phase]]]
    must: list[BriefLine]
    order: list[str]
    calls: list[tuple[float, str]]
    """minutes from the first call on, and who goes where then; empty where groups are not called"""
    groups: int
    criteria: list[TappedCriterion]
    tries: tuple[tuple[str, str], ...]
    late: Late


def routes(desk: Desk) -> list[Route]:
    def lesson(request: Request) -> Response:
        id = request.path_params["id"]
        plan = plan_of(desk, request.state.caller, id).answered.plan
        challenge = desk.base.challenges[plan.challenge.id]
        lessons: dict[int, list[Phase]] = {}
        for phase in plan.timetable.phases:
            lessons.setdefault(phase.lesson, []).append(phase)
        labels = {test.id: test.label for test in challenge.tests}
        view = LessonPage(
            plan_id=id,
            title=plan.challenge.label,
            section=plan.section.label,
            today=date.today().isoformat(),
            lessons=list(lessons.items()),
            must=plan.brief.criteria,
            order=[labels.get(test, test) for test in plan.timetable.order],
            calls=_calls(plan.timetable, labels),
            groups=plan.section.groups,
            criteria=tapped(plan, desk.base),
            tries=TRIES,
            late=_late(request, plan, _ideas(challenge, plan, desk.base)),
        )
        return desk.show(request, view, 422 if view.late.form.wrong else 200)

    return [Route("/plans/{id}/lesson", lesson)]


def _calls(table: Timetable, labels: Mapping[str, str]) -> list[tuple[float, str]]:
    copies = {visit.test: visit.copies for visit in table.stations}

    def said(call: StationCall) -> str:
        which = f" {call.copy_}" if copies.get(call.test, 1) > 1 else ""
        return f"group {call.group} to {labels.get(call.test, call.test)}{which}"

    return [(call.start, said(call)) for call in sorted(table.calls, key=lambda c: (c.start, c.group))]


def _ideas(challenge: Challenge, plan: Recommendation, base: RuleBase) -> list[str]:
    """What still helps in the lesson: minutes were shared out before it."""
    levers = {id: lever for id, lever in base.levers.items() if lever.quantity != "minutes"}
    return challenge.mend_texts("time", levers, plan.after.settings)


def _late(request: Request, plan: Recommendation, ideas: list[str]) -> Late:
    typed = {name: text for name in ("left", "untested") if (text := request.query_params.get(name, "").strip())}
    form, said = Filled(FormData(typed)), ""
    if typed:
        left, untested = decimal(typed.get("left", "")), whole(typed.get("untested", ""))
        wrong = {}
        if not isinstance(left, float) or not 0 <= left <= 240:
            wrong["left"] = "minutes from 0 to 240"
        if not isinstance(untested, int) or not 1 <= untested <= plan.section.groups:
            wrong["untested"] = f"a whole number from 1 to {plan.section.groups}"
        if not wrong:
            said = late_line(plan, minutes_left=left, untested=untested)
        form = Filled(form.values, wrong)
    return Late(plan.timetable.late, ideas, form, said)
