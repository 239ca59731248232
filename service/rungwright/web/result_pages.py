"""After the lesson: results by count or by group, then what they changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from datetime import date, datetime
from typing import ClassVar

from sqlalchemy.orm import Session
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.answering import answer_to
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.api.runs import settings_of_day
from rungwright.api.sections import section_now
from rungwright.domain.ask import Ask, RecommendationRequest, Units
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.pictures import Point, readiness_over_time
from rungwright.recommend.history import Reached, readiness_history
from rungwright.recommend.wording import effect_clause, sentence
from rungwright.store import Answers, Caller, Runs, Sections
from rungwright.store.tables import RunRow
from rungwright.web.answer_view import shared_settings
from rungwright.web.answering import plan_of
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled
from rungwright.web.once import FIELD, made_once, new_once
from rungwright.web.pictures import Dots, dots
from rungwright.web.reserving import taught
from rungwright.web.result_form import FLAGS, Lesson, by_the_end, of_plan, read, wrong_at
from rungwright.web.saying import capital, day, expected_groups, range_of_groups
from rungwright.web.section_pages import taken_over

MOST_DAYS = 24
"""Days of lessons in the picture of readiness over time, the newest: more would not be told apart."""


@dataclass(frozen=True)
class ResultsPage(View):
    template: ClassVar[str] = "results.html"
    plan_id: str
    title: str
    section: str
    lesson: Lesson
    by_group: bool
    once: str
    form: Filled
    flags: list[tuple[str, str]]
    entered: tuple[str, str] | None
    """id and day of results that came after this plan, which may be this lesson's own"""


@dataclass(frozen=True)
class Moved:
    label: str
    result: str
    before: str
    after: str


@dataclass(frozen=True)
class OverTime:
    """After each lesson with this challenge, the groups that would meet every criterion of its usual version."""

    picture: str
    words: list[str]


@dataclass(frozen=True)
class LearntPage(View):
    template: ClassVar[str] = "learnt.html"
    id: str
    section_id: str
    section: str
    on: str
    withdrawn: bool
    may_change: bool
    groups: int
    ask_with: list[tuple[str, str]]
    before: Dots
    after: Dots
    sentence: str
    evidence: str
    moved: list[Moved]
    over_time: OverTime | None
    """None where there is no more than one run: nothing has moved yet"""


def routes(desk: Desk) -> list[Route]:
    def page(request: Request, id: str, form: Filled, *, by_group: bool) -> Response:
        kept = plan_of(desk, request.state.caller, id)
        plan = kept.answered.plan
        section = _section_of(desk, request.state.caller, id)
        view = ResultsPage(
            plan_id=id,
            title=plan.challenge.label,
            section=plan.section.label,
            lesson=of_plan(plan, desk.base),
            by_group=by_group,
            once=form.value(FIELD) or new_once(),
            form=form,
            flags=[(flag.value, words) for flag, words in FLAGS.items()],
            entered=_entered(desk, request.state.caller, section, kept.row.created_at),
        )
        return desk.show(request, view, 422 if form.wrong else 200)

    def enter(request: Request) -> Response:
        form = Filled(FormData([("on", date.today().isoformat())]))
        by_group = request.query_params.get("by") == "group"
        return page(request, request.path_params["id"], form, by_group=by_group)

    def save(request: Request, form: FormData) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        plan = plan_of(desk, caller, id).answered.plan
        by_group = form.get("by") == "group"
        if form.get("then") == "check":
            return page(request, id, Filled(by_the_end(form)), by_group=True)
        lesson = of_plan(plan, desk.base)
        draft = read(form, lesson, by_group=by_group)
        if isinstance(draft, dict):
            return page(request, id, Filled(form, draft), by_group=by_group)
        section_id = _section_of(desk, caller, id)

        def add(session: Session) -> str:
            section = section_now(session, caller, Sections(session, caller).find(section_id), desk.base, needs=False)
            settings = settings_of_day(section, draft.run, desk.rules)
            taught(session, caller, section_id, id, draft.run.on, desk.base)
            return Runs(session, caller).add(section_id, draft, settings).id

        try:
            run = made_once(desk, caller, form, add)
        except ProblemError as error:
            wrong = wrong_at(error.errors, form, lesson, by_group=by_group)
            return page(request, id, Filled(form, wrong), by_group=by_group)
        return go_to(f"/results/{run}")

    def learnt(request: Request) -> Response:
        caller = request.state.caller
        with desk.store.reading() as session:
            runs, sections = Runs(session, caller), Sections(session, caller)
            row = runs.find(request.path_params["id"])
            kept = sections.find(row.section_id)
            section = section_now(session, caller, kept, desk.base, needs=True)
            evidence = runs.evidence(sections.years(kept), row.body.challenge, desk.base.challenges)
            ask_with = taken_over(Answers(session, caller).newest(kept.id), row)
        this = row.body.model_copy(update={"settings": row.settings})
        others = [run for run in evidence if run != this]

        def standing(runs: list[Run]) -> Recommendation:
            settings = shared_settings(row.settings, desk.base)
            ask = Ask(pinned=list(settings))
            return answer_to(
                RecommendationRequest(
                    challenge=row.body.challenge,
                    section=section,
                    settings=settings,
                    runs=runs,
                    ask=ask,
                    units=Units.BOTH,
                ),
                desk.rules,
            )

        told = RecommendationRequest(challenge=row.body.challenge, section=section, runs=evidence)
        over_time = _over_time(readiness_history(told, desk.rules, last=MOST_DAYS), section)
        may_change = caller.may_write_in(kept.owner_id)
        view = _learnt(row, standing(others), standing(evidence), ask_with, over_time, desk, may_change=may_change)
        return desk.show(request, view)

    return [
        Route("/plans/{id}/results", enter),
        Route("/plans/{id}/results", posted(save), methods=["POST"]),
        Route("/results/{id}", learnt),
    ]


def _entered(desk: Desk, caller: Caller, section: str, planned: datetime) -> tuple[str, str] | None:
    with desk.store.reading() as session:
        run = Runs(session, caller).newest(section)
        return (run.id, day(run.body.on)) if run is not None and run.created_at > planned else None


def _section_of(desk: Desk, caller: Caller, plan: str) -> str:
    """Raises NotThere, ProblemError 404 for an answer that a planning tool has kept without a section."""
    with desk.store.reading() as session:
        section = Answers(session, caller).find(plan).section_id
    if section is None:
        raise ProblemError(ProblemType.NOT_FOUND, "This answer is of no section here, so no results are kept for it.")
    return section


def _learnt(
    row: RunRow,
    before: Recommendation,
    after: Recommendation,
    ask_with: list[tuple[str, str]],
    over_time: OverTime | None,
    desk: Desk,
    *,
    may_change: bool,
) -> LearntPage:
    run = row.body
    groups = after.section.groups
    change = after.after.expected.all_criteria.groups - before.after.expected.all_criteria.groups
    if row.withdrawn:
        said = "These results were withdrawn: they are kept, but change no estimate."
    elif not run.teaches:
        said = "This lesson is kept and shown, but because of what happened in it it changes no estimate."
    elif abs(change) < 0.05:
        said = "The results fit what was expected: the estimate stays where it was."
    else:
        said = sentence(f"For the same challenge we now expect {_size(change, groups)}")
    moved = []
    for name, (first, end) in run.tallies().items():
        tally = end or first
        was, now = (a.after.expected.criteria.get(name) for a in (before, after))
        if tally is None or was is None or now is None:
            continue
        moved.append(
            Moved(
                capital(desk.base.names[name]),
                f"{tally.met} of {tally.of}",
                expected_groups(was.end.share, groups),
                expected_groups(now.end.share, groups),
            )
        )
    return LearntPage(
        id=row.id,
        section_id=row.section_id,
        section=after.section.label,
        on=day(run.on),
        withdrawn=row.withdrawn,
        may_change=may_change,
        groups=groups,
        ask_with=ask_with,
        before=dots(before.after.expected.all_criteria, groups),
        after=dots(after.after.expected.all_criteria, groups),
        sentence=said,
        evidence=after.summary.evidence,
        moved=moved,
        over_time=over_time,
    )


def _over_time(reached: Sequence[Reached], section: Section) -> OverTime | None:
    if len(reached) < 2:
        return None
    groups, points = section.groups, [Point(r.on, *astuple(r.all_criteria)) for r in reached]
    words = [
        f"After {day(p.on)}: {expected_groups(p.share, groups)} of {groups}; "
        f"we are fairly sure of {range_of_groups(p.low, p.high, groups)}."
        for p in points
    ]
    return OverTime(readiness_over_time(points, groups=groups, label=section.label), words)


def _size(change: float, groups: int) -> str:
    size = abs(change)
    way = "more" if change > 0 else "fewer"
    if size < 0.5 or groups == 1:
        return f"a little {'more' if change > 0 else 'less'} than before, under half a group"
    return f"between none and one group {way} than before" if size < 0.75 else effect_clause(change, groups)
