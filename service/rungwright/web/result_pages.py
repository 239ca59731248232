"""After the lesson: results by count or by group, then what they changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass
from datetime import date
from typing import Any, ClassVar

from sqlalchemy.orm import Session
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.answering import answer_to
from rungwright.api.fields import validate
from rungwright.api.problems import ProblemError
from rungwright.api.runs import settings_of_day
from rungwright.api.sections import section_now
from rungwright.domain.ask import Ask, RecommendationRequest, Units
from rungwright.domain.keeping import RunDraft
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.run import Flag, Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.pictures import Point, readiness_over_time
from rungwright.recommend.history import Reached, readiness_history
from rungwright.recommend.problem import FieldProblem
from rungwright.recommend.wording import effect_clause, sentence
from rungwright.store import Answers, Caller, Runs, Sections
from rungwright.web.answer_view import shared_settings
from rungwright.web.answering import plan_of
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, at_fields, decimal, whole
from rungwright.web.marks import NOT_TESTED, POSITIONS, TappedCriterion, mark_of, positions_held, tapped
from rungwright.web.once import FIELD, made_once, new_once
from rungwright.web.pictures import Dots, dots
from rungwright.web.reserving import taught
from rungwright.web.saying import capital, day, expected_groups, range_of_groups
from rungwright.web.section_pages import taken_over

MOST_DAYS = 24
"""Days of lessons in the picture of readiness over time, the newest: more would not be told apart."""

FLAGS = {
    Flag.INTERRUPTED: "The lesson was interrupted",
    Flag.KIT_RAN_OUT: "The kit ran out",
    Flag.MANY_ABSENT: "Many were absent",
    Flag.ADULT_BUILT_IT: "An adult built for a group",
}


@dataclass(frozen=True)
class ResultsPage(View):
    template: ClassVar[str] = "results.html"
    section_id: str
    plan_id: str
    title: str
    section: str
    groups: int
    criteria: list[TappedCriterion]
    spots: int
    by_group: bool
    once: str
    form: Filled
    flags: list[tuple[str, str]]


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
    section_id: str
    section: str
    on: str
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
        plan = plan_of(desk, request.state.caller, id).answered.plan
        view = ResultsPage(
            section_id=_section_of(desk, request.state.caller, id),
            plan_id=id,
            title=plan.challenge.label,
            section=plan.section.label,
            groups=plan.section.groups,
            criteria=tapped(plan, desk.base),
            spots=int(plan.after.settings.get(POSITIONS, 1)),
            by_group=by_group,
            once=form.value(FIELD) or new_once(),
            form=form,
            flags=[(flag.value, words) for flag, words in FLAGS.items()],
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
            return page(request, id, Filled(_by_the_end(form)), by_group=True)
        data = _run_data(form, plan, desk, by_group=by_group)
        draft = validate(RunDraft, {"run": data})
        problems = draft if isinstance(draft, list) else _too_many(draft.run, plan)
        if problems:
            return page(request, id, Filled(form, at_fields(problems, _pointers(data))), by_group=by_group)
        section_id = _section_of(desk, caller, id)

        def add(session: Session) -> str:
            section = section_now(session, caller, Sections(session, caller).find(section_id), desk.base, needs=False)
            settings = settings_of_day(section, draft.run, desk.rules)
            taught(session, caller, section_id, id, draft.run.on, desk.base)
            return Runs(session, caller).add(section_id, draft, settings).id

        try:
            run = made_once(desk, caller, form, add)
        except ProblemError as error:
            return page(request, id, Filled(form, at_fields(error.errors, _pointers(data))), by_group=by_group)
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
        return desk.show(
            request, _learnt(row.body, standing(others), standing(evidence), row.section_id, ask_with, over_time, desk)
        )

    return [
        Route("/plans/{id}/results", enter),
        Route("/plans/{id}/results", posted(save), methods=["POST"]),
        Route("/results/{id}", learnt),
    ]


def _section_of(desk: Desk, caller: Caller, plan: str) -> str:
    with desk.store.reading() as session:
        return Answers(session, caller).find(plan).section_id


def _run_data(form: FormData, plan: Recommendation, desk: Desk, *, by_group: bool) -> dict[str, Any]:
    """The run as it would be sent, settings of access left out: they would tell that there is a need."""
    names = list(plan.after.expected.criteria)
    groups = whole(str(form.get("groups", plan.section.groups)))
    over = str(form.get("minutes_over", "")).strip()
    data: dict[str, Any] = {
        "challenge": plan.challenge.id,
        "settings": shared_settings(plan.after.settings, desk.base),
        "on": str(form.get("on", "")),
        "groups": groups,
        "minutes_over": decimal(over) if over else None,
        "flags": form.getlist("flag"),
    }
    if by_group:
        rows = range(groups if isinstance(groups, int) and 0 <= groups <= 60 else 0)
        asked = tapped(plan, desk.base)
        data["grid"] = [{when: _marks(form, asked, group, when) for when in ("first", "end")} for group in rows]
        for criterion in asked:
            if criterion.spots > 1:
                said = [{when: _said(form, when, group, criterion.id) for when in ("first", "end")} for group in rows]
                data["positions_held"] = positions_held(said, criterion.spots)
    else:
        data["results"] = [_counts(form, name, groups) for name in names if _told(form, name)]
        held = [str(form.get(f"held.{k}", "")).strip() for k in range(int(plan.after.settings.get(POSITIONS, 1)) + 1)]
        if any(held):
            data["positions_held"] = {"of": len(held) - 1, "counts": [whole(text or "0") for text in held]}
    return data


def _said(form: FormData, when: str, group: int, name: str) -> str:
    return str(form.get(f"{when}.{group}.{name}", NOT_TESTED))


def _marks(form: FormData, asked: Sequence[TappedCriterion], group: int, when: str) -> Mapping[str, str]:
    marks = {c.id: mark_of(_said(form, when, group, c.id), c.spots) for c in asked}
    return {name: mark for name, mark in marks.items() if mark != NOT_TESTED}


def _by_the_end(form: FormData) -> FormData:
    """Results as they were tapped: what was not tried again keeps what the first test said."""
    marks = dict(form.multi_items())
    again = {f"end.{name.removeprefix('first.')}": mark for name, mark in marks.items() if name.startswith("first.")}
    return FormData({**again, **marks})


def _told(form: FormData, name: str) -> bool:
    return any(str(form.get(f"{when}.{name}", "")).strip() for when in ("first", "end"))


def _counts(form: FormData, name: str, groups: Setting) -> dict[str, Any]:
    out: dict[str, Any] = {"criterion": name}
    for when in ("first", "end"):
        text = str(form.get(f"{when}.{name}", "")).strip()
        if text:
            tested = str(form.get(f"of.{name}", "")).strip()
            out[when] = {"met": whole(text), "of": whole(tested) if tested else groups}
    return out


def _too_many(run: Run, plan: Recommendation) -> list[FieldProblem]:
    if not (run.results or any(row.first or row.end for row in run.grid or ())):
        return [FieldProblem("/run", "enter at least one result")]
    return []


def _pointers(data: dict[str, Any]) -> list[tuple[str, str]]:
    found = []
    for i, result in enumerate(data.get("results", ())):
        name = result["criterion"]
        found += [(f"/run/results/{i}/{when}/met", f"{when}.{name}") for when in ("first", "end")]
        found += [(f"/run/results/{i}/{when}/of", f"of.{name}") for when in ("first", "end")]
        found += [(f"/run/results/{i}/{when}", f"{when}.{name}") for when in ("first", "end")]
    found += [("/run/positions_held", "held.0")]
    return found + [(f"/run/{name}", name) for name in ("on", "groups", "minutes_over")]


def _learnt(
    run: Run,
    before: Recommendation,
    after: Recommendation,
    section_id: str,
    ask_with: list[tuple[str, str]],
    over_time: OverTime | None,
    desk: Desk,
) -> LearntPage:
    groups = after.section.groups
    change = after.after.expected.all_criteria.groups - before.after.expected.all_criteria.groups
    if not run.teaches:
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
        section_id=section_id,
        section=after.section.label,
        on=day(run.on),
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
