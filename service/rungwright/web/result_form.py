"""The form of results, by count or by group: what it says as a run, and a run as it would be typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import FormData

from rungwright.api.fields import validate
from rungwright.domain.keeping import RunDraft
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.run import Flag, Run
from rungwright.domain.strict import Setting
from rungwright.recommend.problem import FieldProblem
from rungwright.rulebase import RuleBase
from rungwright.web.answer_view import shared_settings
from rungwright.web.forms import at_fields, decimal, whole
from rungwright.web.marks import NOT_TESTED, POSITIONS, TappedCriterion, mark_of, plain, positions_held, tapped

FLAGS = {
    Flag.INTERRUPTED: "The lesson was interrupted",
    Flag.KIT_RAN_OUT: "The kit ran out",
    Flag.MANY_ABSENT: "Many were absent",
    Flag.ADULT_BUILT_IT: "An adult built for a group",
}
WHEN = ("first", "end")


@dataclass(frozen=True)
class Lesson:
    """What was taught: what can be said of it, and what stays the same whatever the results are.

    `settings`: as they are kept with the run; None where they were not told. `spots`: where the weight was tested.
    """

    challenge: str
    settings: Mapping[str, Setting] | None
    groups: int
    criteria: Sequence[TappedCriterion]
    spots: int

    @property
    def held_by_group(self) -> bool:
        """Whether the marks of a group say at how many spots the weight held."""
        return any(criterion.spots > 1 for criterion in self.criteria)


def of_plan(plan: Recommendation, base: RuleBase) -> Lesson:
    """Settings of access are left out: they would tell that there is a need."""
    settings = plan.after.settings
    return Lesson(
        challenge=plan.challenge.id,
        settings=shared_settings(settings, base),
        groups=plan.section.groups,
        criteria=tapped(plan, base),
        spots=int(settings.get(POSITIONS, 1)),
    )


def of_run(run: Run, settings: Mapping[str, Setting], base: RuleBase) -> Lesson:
    """`settings`: all of that day."""
    known = base.challenges.get(run.challenge)
    asked = [c.id for c in known.criteria if c.asked_at(settings)] if known else []
    spots = run.positions_held.of if run.positions_held else int(settings.get(POSITIONS, 1))
    names = dict.fromkeys([*asked, *run.tallies()])
    return Lesson(run.challenge, run.settings, run.groups, plain(names, base), spots)


def read(form: FormData, lesson: Lesson, *, by_group: bool, withdrawn: bool = False) -> RunDraft | dict[str, str]:
    """The run that was typed, or what is wrong by field."""
    data = _run_data(form, lesson, by_group=by_group)
    draft = validate(RunDraft, {"run": data, "withdrawn": withdrawn})
    problems = draft if isinstance(draft, list) else _nothing_told(draft.run)
    return wrong_at(problems, form, lesson, by_group=by_group) if problems else draft


def wrong_at(problems: Sequence[FieldProblem], form: FormData, lesson: Lesson, *, by_group: bool) -> dict[str, str]:
    """What is wrong by field."""
    return at_fields(problems, _pointers(_run_data(form, lesson, by_group=by_group)))


def filled(run: Run, *, by_group: bool) -> FormData:
    """The fields as they would be typed for this run."""
    over = "" if run.minutes_over is None else f"{run.minutes_over:g}"
    pairs = [("on", run.on.isoformat()), ("groups", str(run.groups)), ("minutes_over", over)]
    pairs += [("flag", flag.value) for flag in run.flags]
    if run.positions_held:
        pairs += [(f"held.{k}", str(n)) for k, n in enumerate(run.positions_held.counts)]
    if by_group:
        for group, row in enumerate(run.grid or ()):
            pairs += [(f"{when}.{group}.{c}", mark) for when in WHEN for c, mark in getattr(row, when).items()]
        return FormData(pairs)
    for name, tallies in run.tallies().items():
        told = {when: tally for when, tally in zip(WHEN, tallies, strict=True) if tally is not None}
        pairs += [(f"{when}.{name}", str(tally.met)) for when, tally in told.items()]
        tested = {tally.of for tally in told.values()}
        if len(tested) == 1:
            pairs += [(f"of.{name}", str(n)) for n in tested if n != run.groups]
        else:
            pairs += [(f"of.{when}.{name}", str(tally.of)) for when, tally in told.items()]
    return FormData(pairs)


def by_the_end(form: FormData) -> FormData:
    """Results as they were tapped: what was not tried again keeps what the first test said."""
    marks = dict(form.multi_items())
    again = {f"end.{name.removeprefix('first.')}": mark for name, mark in marks.items() if name.startswith("first.")}
    return FormData({**again, **marks})


def _run_data(form: FormData, lesson: Lesson, *, by_group: bool) -> dict[str, Any]:
    """The run as it would be sent."""
    groups = whole(str(form.get("groups", lesson.groups)))
    over = str(form.get("minutes_over", "")).strip()
    data: dict[str, Any] = {
        "challenge": lesson.challenge,
        "settings": lesson.settings,
        "on": str(form.get("on", "")),
        "groups": groups,
        "minutes_over": decimal(over) if over else None,
        "flags": form.getlist("flag"),
    }
    if by_group:
        rows = range(groups if isinstance(groups, int) and 0 <= groups <= 60 else 0)
        data["grid"] = [{when: _marks(form, lesson.criteria, group, when) for when in WHEN} for group in rows]
        for criterion in lesson.criteria:
            if criterion.spots > 1:
                said = [{when: _said(form, when, group, criterion.id) for when in WHEN} for group in rows]
                data["positions_held"] = positions_held(said, criterion.spots)
    else:
        data["results"] = [_counts(form, c.id, groups) for c in lesson.criteria if _told(form, c.id)]
    held = [str(form.get(f"held.{k}", "")).strip() for k in range(lesson.spots + 1)]
    if any(held):
        data["positions_held"] = {"of": lesson.spots, "counts": [whole(text or "0") for text in held]}
    return data


def _said(form: FormData, when: str, group: int, name: str) -> str:
    return str(form.get(f"{when}.{group}.{name}", NOT_TESTED))


def _marks(form: FormData, asked: Iterable[TappedCriterion], group: int, when: str) -> Mapping[str, str]:
    marks = {c.id: mark_of(_said(form, when, group, c.id), c.spots) for c in asked}
    return {name: mark for name, mark in marks.items() if mark != NOT_TESTED}


def _told(form: FormData, name: str) -> bool:
    return any(str(form.get(f"{when}.{name}", "")).strip() for when in WHEN)


def _counts(form: FormData, name: str, groups: int | str) -> dict[str, Any]:
    """`of` is told for both tests at once; where a run had two numbers, they stay until it is."""
    out: dict[str, Any] = {"criterion": name}
    for when in WHEN:
        text = str(form.get(f"{when}.{name}", "")).strip()
        if text:
            tested = str(form.get(f"of.{name}", "")).strip() or str(form.get(f"of.{when}.{name}", "")).strip()
            out[when] = {"met": whole(text), "of": whole(tested) if tested else groups}
    return out


def _nothing_told(run: Run) -> list[FieldProblem]:
    if not (run.results or any(row.first or row.end for row in run.grid or ())):
        return [FieldProblem("/run", "enter at least one result")]
    return []


def _pointers(data: dict[str, Any]) -> list[tuple[str, str]]:
    found = []
    for i, result in enumerate(data.get("results", ())):
        name = result["criterion"]
        found += [(f"/run/results/{i}/{when}/met", f"{when}.{name}") for when in WHEN]
        found += [(f"/run/results/{i}/{when}/of", f"of.{name}") for when in WHEN]
        found += [(f"/run/results/{i}/{when}", f"{when}.{name}") for when in WHEN]
    found += [("/run/positions_held", "held.0")]
    return found + [(f"/run/{name}", name) for name in ("on", "groups", "minutes_over")]
