"""What a section has done so far: its results, corrected or withdrawn without losing what they said before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from sqlalchemy.orm import Session
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.problems import ProblemError
from rungwright.api.runs import correct
from rungwright.domain.keeping import RunDraft
from rungwright.domain.run import Run, Tally
from rungwright.recommend.wording import listed
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import counted
from rungwright.store import Caller, Runs, Sections, Stale
from rungwright.store.tables import PastRunRow, RunRow
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, seen
from rungwright.web.result_form import FLAGS, Lesson, filled, of_run, read, wrong_at
from rungwright.web.saying import capital, day, minutes

ALL = 200
"""Results on the page of one section, the newest: years of lessons."""


@dataclass(frozen=True)
class Entry:
    id: str
    version: int
    title: str
    on: str
    groups: str
    withdrawn: bool
    words: list[str]
    earlier: list[tuple[str, list[str]]]
    """until when, and what it said then; nothing where only its counting has changed"""


@dataclass(frozen=True)
class RunsPage(View):
    template: ClassVar[str] = "runs.html"
    section_id: str
    section: str
    may_change: bool
    entries: list[Entry]
    changed_meanwhile: bool


@dataclass(frozen=True)
class CorrectPage(View):
    template: ClassVar[str] = "correct.html"
    id: str
    version: int
    section_id: str
    title: str
    section: str
    lesson: Lesson
    by_group: bool
    groups_told: bool
    """whether the results of single groups are there, so that there are two ways to enter them"""
    withdrawn: bool
    form: Filled
    flags: list[tuple[str, str]]
    changed_meanwhile: bool


def routes(desk: Desk) -> list[Route]:
    def show_all(request: Request, section: str, *, stale: bool = False) -> Response:
        caller = request.state.caller
        with desk.store.reading() as session:
            row, runs = Sections(session, caller).find(section), Runs(session, caller)
            found = runs.newest_first(section, ALL)
            past = runs.histories([run.id for run in found])
            view = RunsPage(
                section_id=row.id,
                section=row.body.label,
                may_change=caller.may_write_in(row.owner_id),
                entries=[_entry(run, past.get(run.id, ()), desk.base) for run in found],
                changed_meanwhile=stale,
            )
        return desk.show(request, view, 409 if stale else 200)

    def all_of_section(request: Request) -> Response:
        return show_all(request, request.path_params["id"])

    def found(request: Request) -> tuple[RunRow, str]:
        """The run, and the name of its section; who may only look at it cannot correct it."""
        with desk.store.reading() as session:
            row = Runs(session, request.state.caller).find(request.path_params["id"])
            section = Sections(session, request.state.caller).find(row.section_id)
            request.state.caller.must_write_in(section.owner_id)
        return row, section.body.label

    def page(request: Request, form: Filled | None, *, by_group: bool, stale: bool = False) -> Response:
        row, section = found(request)
        view = CorrectPage(
            id=row.id,
            version=row.version,
            section_id=row.section_id,
            title=_title(row.body, desk.base),
            section=section,
            lesson=of_run(row.body, row.settings, desk.base),
            by_group=by_group,
            groups_told=row.body.grid is not None,
            withdrawn=row.withdrawn,
            form=form or Filled(filled(row.body, by_group=by_group)),
            flags=[(flag.value, words) for flag, words in FLAGS.items()],
            changed_meanwhile=stale,
        )
        return desk.show(request, view, 409 if stale else 422 if view.form.wrong else 200)

    def edit(request: Request) -> Response:
        row, _ = found(request)
        by = request.query_params.get("by", "group" if row.body.grid is not None else "count")
        return page(request, None, by_group=by == "group" and row.body.grid is not None)

    def save(request: Request, form: FormData) -> Response:
        row, _ = found(request)
        by_group, lesson = form.get("by") == "group", of_run(row.body, row.settings, desk.base)
        draft = read(form, lesson, by_group=by_group, withdrawn=row.withdrawn)
        if isinstance(draft, dict):
            return page(request, Filled(form, draft), by_group=by_group)
        if draft.run == row.body:
            return go_to(f"/results/{row.id}")  # nothing was changed, or the form was sent twice
        try:
            with desk.store.writing() as session:
                correct(session, request.state.caller, row.id, seen(form), draft, desk.rules)
        except ProblemError as error:
            wrong = wrong_at(error.errors, form, lesson, by_group=by_group)
            return page(request, Filled(form, wrong), by_group=by_group)
        except Stale:
            return page(request, Filled(form), by_group=by_group, stale=True)
        return go_to(f"/results/{row.id}")

    def counting(request: Request, form: FormData) -> Response:
        """Withdraw results, or let them count again."""
        row, _ = found(request)
        try:
            with desk.store.writing() as session:
                _set_withdrawn(session, request.state.caller, row.id, form)
        except Stale:
            return show_all(request, row.section_id, stale=True)
        return go_to(f"/sections/{row.section_id}/results")

    return [
        Route("/sections/{id}/results", all_of_section),
        Route("/results/{id}/correct", edit),
        Route("/results/{id}/correct", posted(save), methods=["POST"]),
        Route("/results/{id}/counting", posted(counting), methods=["POST"]),
    ]


def _set_withdrawn(session: Session, caller: Caller, id: str, form: FormData) -> None:
    """Raises NotThere, NotAllowed, Stale."""
    runs, versions = Runs(session, caller), seen(form)
    row = runs.find_version(id, versions)
    runs.change(id, versions, RunDraft(run=row.body, withdrawn=form.get("do") == "withdraw"), row.settings)


def _title(run: Run, base: RuleBase) -> str:
    known = base.challenges.get(run.challenge)
    return known.label if known else run.challenge.replace("_", " ").capitalize()


def _entry(row: RunRow, past: Sequence[PastRunRow], base: RuleBase) -> Entry:
    earlier, then = [], row
    for before in past:
        until = day(before.replaced_at)
        if before.body != then.body:
            told = [
                f"Taught on {day(before.body.on)}, {counted(before.body.groups, 'group')}",
                *said(before.body, base),
            ]
            earlier.append((f"Corrected on {until}. Before, it said:", told))
        if before.withdrawn != then.withdrawn:
            earlier.append((f"{'Counts again since' if before.withdrawn else 'Withdrawn on'} {until}.", []))
        then = before
    return Entry(
        id=row.id,
        version=row.version,
        title=_title(row.body, base),
        on=day(row.body.on),
        groups=counted(row.body.groups, "group"),
        withdrawn=row.withdrawn,
        words=said(row.body, base),
        earlier=earlier,
    )


def said(run: Run, base: RuleBase) -> list[str]:
    """`Carrying the weight: 7 of 9 at the first test, 8 of 9 by the end`, a line a criterion, then the rest."""
    lines = [f"{capital(base.names.get(name, name))}: {_tallies(*pair)}" for name, pair in run.tallies().items()]
    if run.positions_held:
        told = run.positions_held
        held = [f"{k} of {told.of} for {counted(n, 'group')}" for k, n in enumerate(told.counts) if n]
        lines += [f"Spots that held the weight: {listed(held[::-1])}"] if held else []
    if run.minutes_over:
        lines.append(f"{minutes(abs(run.minutes_over))} {'over' if run.minutes_over > 0 else 'early'}")
    return [*lines, *(FLAGS[flag] for flag in run.flags)]


def _tallies(first: Tally | None, end: Tally | None) -> str:
    told = [f"{t.met} of {t.of} {when}" for t, when in ((first, "at the first test"), (end, "by the end")) if t]
    return ", ".join(told) or "not tested"
