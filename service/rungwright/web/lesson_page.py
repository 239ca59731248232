"""The page of a lesson that is being taught: what part it is, how long it lasts, and results tapped as they come."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.domain.recommendation import BriefLine, Phase
from rungwright.web.answering import plan_of
from rungwright.web.desk import Desk, View
from rungwright.web.saying import capital

TRIES = (("first", "First test"), ("end", "Second try"))
MARKS = (("yes", "yes"), ("no", "no"), ("with_help", "with help"))
"""As a thumb finds them; what is not tapped was not tested."""


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
    groups: int
    criteria: list[tuple[str, str]]
    tries: tuple[tuple[str, str], ...]
    marks: tuple[tuple[str, str], ...]
    late: list[str]


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
            groups=plan.section.groups,
            criteria=[(name, capital(desk.base.names[name])) for name in plan.after.expected.criteria],
            tries=TRIES,
            marks=MARKS,
            late=challenge.mend_texts("time", desk.base.levers, plan.after.settings),
        )
        return desk.show(request, view)

    return [Route("/plans/{id}/lesson", lesson)]
