"""An answer as its page shows it: the same words as the answer, in the order a teacher reads."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from rungwright.domain.lever import LeverKind
from rungwright.domain.recommendation import (
    CheckResult,
    DeclineReason,
    Evidence,
    Kit,
    KitItem,
    Prompt,
    Proposal,
    Recommendation,
    Verdict,
)
from rungwright.domain.strict import Setting
from rungwright.recommend.basis import UNTRIED
from rungwright.recommend.wording import (
    ASKED,
    change_of_minutes,
    effect_clause,
    grades,
    listed,
    proof,
    sentence,
    tells_of_access,
    without_school_rules,
)
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import counted, say_setting
from rungwright.sheets.kit import amounts_of
from rungwright.sheets.speech import Speech
from rungwright.web.answering import Answered
from rungwright.web.asked import Asked
from rungwright.web.by_itself import by_itself
from rungwright.web.check_numbers import in_words
from rungwright.web.drawing import Drawing, drawing
from rungwright.web.pictures import Dots, PhaseBar, dots, phase_bars
from rungwright.web.saying import capital, expected_groups, range_of_groups


@dataclass(frozen=True)
class Step:
    """One way to change a setting: its address is the same question with that setting."""

    text: str
    address: str


@dataclass(frozen=True)
class ChangeView:
    """One proposal. `own`: the teacher's setting stands in place of the proposed one."""

    lever: str
    label: str
    before: str
    after: str
    proposed: str
    own: bool
    owner: bool
    reason: str
    effects: list[str]
    proofs: list[str]
    bases: list[str]
    """our starting guess left out: it is said once, below the changes"""
    rules: list[str]
    needs: list[str]
    gentler: Step | None
    harder: Step | None
    leave_out: str
    stay: str
    back: str


@dataclass(frozen=True)
class SetAside:
    """A lever that was left out or stays as it is."""

    lever: str
    label: str
    back: str
    reasons: list[DeclineReason]


@dataclass(frozen=True)
class CriterionLine:
    label: str
    first: str
    end: str
    likely: str
    moved: str


@dataclass(frozen=True)
class CheckView:
    label: str
    verdict: str
    word: str
    text: str
    numbers: list[tuple[str, str]]
    mend: list[str]
    by_itself: str
    """address of the page that works it out with other numbers; empty where there is none"""


@dataclass(frozen=True)
class KitLine:
    label: str
    each: str
    all: str
    short: str
    instead: list[str]


@dataclass(frozen=True)
class Line:
    """`owner`: it would tell of a support, so that it is on the owner's screen alone and never on paper."""

    text: str
    why: str
    owner: bool


@dataclass(frozen=True)
class AnswerView:
    """What both pages of an answer show: the one that is being asked, and the one that was kept."""

    challenge: str
    section: str
    who: str
    asked: str
    headline: str
    first_test: str
    evidence: str
    groups: int
    now: Dots
    then: Dots
    changes: list[ChangeView]
    untried: str
    """that how much the changes do is a guess; empty where classes have tried all of them"""
    watch: list[CheckView]
    """checks that are not clear: to be seen before the plan is kept"""
    alternatives: list[str]
    held: list[tuple[str, str]]
    criteria: list[CriterionLine]
    checks: list[CheckView]
    drawing: Drawing | None
    lessons: list[tuple[int, list[PhaseBar]]]
    time: str
    manner: str
    preparation: list[Line]
    preparation_minutes: float
    kit: list[KitLine]
    stations: list[tuple[str, list[str]]]
    cautions: list[tuple[str, str]]
    for_groups: list[tuple[str, list[str]]]
    """what the questions are about, and the questions"""
    for_you: list[tuple[str, list[str]]]
    fitted: list[Line]
    assumptions: list[str]
    not_looked_at: list[str]
    answer_id: str
    rule_base: str


def answer_view(answered: Answered, asked: Asked, base: RuleBase) -> AnswerView:
    answer, plan = answered.answer, answered.plan
    groups = answer.section.groups
    challenge = base.challenges[answer.challenge.id]
    table, kit = plan.timetable, plan.kit
    checks = [check_view(check, by_itself(check.kind, plan, challenge)) for check in plan.after.checks]
    # What needs a look comes first.
    checks.sort(key=lambda check: check.verdict == Verdict.CLEAR)
    return AnswerView(
        challenge=answer.challenge.label,
        section=answer.section.label,
        who=_who(answer),
        asked=ASKED[answer.asked],
        headline=plan.summary.headline,
        first_test=plan.summary.first_test,
        evidence=answer.summary.evidence,
        groups=groups,
        now=dots(answer.before.expected.all_criteria, groups),
        then=dots(plan.after.expected.all_criteria, groups),
        changes=[_change(p, answered, asked, base) for p in answer.proposals],
        untried=_untried(answer.proposals),
        watch=[check for check in checks if check.verdict != Verdict.CLEAR],
        alternatives=[sentence(", and ".join(c.text for c in a.changes)) for a in answer.alternatives],
        held=[(capital(h.label), h.text) for h in answer.held_back if h.kind not in ("pinned", "declined")],
        criteria=list(_criteria(answered, base)),
        checks=checks,
        drawing=drawing(challenge, plan.after.settings, plan.after.build),
        lessons=phase_bars(table.phases) if table else [],
        time=_time(plan),
        manner=table.manner if table else "",
        preparation=[Line(text, "", tells_of_access(text, base.levers)) for text in kit.preparation] if kit else [],
        preparation_minutes=kit.preparation_minutes if kit else 0.0,
        kit=[_kit_line(item, Speech(plan, base, "en", "both")) for item in kit.items] if kit else [],
        stations=_stations(kit, base) if kit else [],
        cautions=[(without_school_rules(c.text), c.reason.text) for c in plan.cautions],
        for_groups=_prompts(plan.prompts, "groups"),
        for_you=_prompts(plan.prompts, "teacher"),
        fitted=[
            Line(capital(f"{a.label}: {a.text}."), a.why, _of_access(a.lever, base)) for a in answer.before.adjusted
        ],
        assumptions=answer.assumptions,
        not_looked_at=answer.not_evaluated,
        answer_id=answer.id,
        rule_base=f"{answer.rule_base.version} ({answer.rule_base.digest[:12]})",
    )


def set_aside(asked: Asked, names: Sequence[str], base: RuleBase, reasons: Sequence[DeclineReason]) -> list[SetAside]:
    return [
        SetAside(name, capital(base.levers[name].label), asked.back(name), list(reasons))
        for name in dict.fromkeys(names)
    ]


def _who(answer: Recommendation) -> str:
    section = answer.section
    parts = [grades(section.grades), f"{counted(section.students, 'student')} in {counted(section.groups, 'group')}"]
    minutes = f"{section.minutes} minutes"
    parts.append(minutes if section.lessons == 1 else f"{minutes} in {section.lessons} lessons")
    return " · ".join(parts)


def _change(proposal: Proposal, answered: Answered, asked: Asked, base: RuleBase) -> ChangeView:
    lever = base.levers[proposal.lever]
    value = answered.own.get(proposal.lever, proposal.to)
    own = proposal.lever in answered.own
    effect = proposal.effect
    effects: list[str] = []
    if not own:
        told = [effect.text, change_of_minutes("lesson", effect.minutes)]
        told += [change_of_minutes("preparation", effect.preparation_minutes), *effect.kit]
        effects = [sentence(text) for text in told if text]

    def step(sign: int) -> Step | None:
        near = lever.steps_from(value, sign)
        if not near or near[0] == proposal.from_ or proposal.kind == LeverKind.ACCESS:
            return None
        return Step(say_setting(lever, near[0]), asked.set_to(lever.id, None if near[0] == proposal.to else near[0]))

    return ChangeView(
        lever=proposal.lever,
        label=capital(proposal.label),
        before=proposal.from_text,
        after=say_setting(lever, value) if own else proposal.to_text,
        proposed=proposal.to_text,
        own=own,
        owner=_of_access(proposal.lever, base),
        reason=proposal.reason.text,
        effects=effects,
        proofs=[_proof(e, answered.plan.section.groups, base) for e in proposal.reason.evidence if not _names(e)],
        bases=[f"{b.label}: {b.supports}" for b in proposal.basis if b.supports != UNTRIED],
        rules=[proposal.rule.id, *proposal.also],
        needs=proposal.needs,
        gentler=step(-1),
        harder=step(1),
        leave_out=asked.without(lever.id),
        stay=asked.staying(lever.id),
        back=asked.set_to(lever.id, None),
    )


def _names(item: Evidence) -> bool:
    """Whether it says no more than which criterion the other facts are about."""
    return (item.fact, item.property) == ("criterion", "name")


def _proof(item: Evidence, groups: int, base: RuleBase) -> str:
    """One fact that was looked at: settings by their words, shares as groups, what only rule writers need left out."""
    value, unit = item.value, item.unit
    lever = base.levers.get(item.property) if item.fact == "now" else None
    if lever is not None and value is not None and lever.accepts(value):
        value, unit = say_setting(lever, value), None
    elif unit == "share" and isinstance(value, float):
        value, unit = f"{expected_groups(value, groups)}{f' of {groups} groups' if groups > 1 else ''}", None
    elif unit in ("grade", "place"):
        unit = None
    elif isinstance(value, str):
        value = base.names.get(value, value.replace("_", " "))
    meaning = item.meaning.partition(";")[0]
    if item.about:
        meaning = f"{base.names.get(item.about, item.about)}, {meaning}"
    said = {"meaning": meaning, "value": value, "unit": unit, "about": None}
    return capital(proof(item.model_copy(update=said)))


def _criteria(answered: Answered, base: RuleBase) -> Iterator[CriterionLine]:
    groups = answered.plan.section.groups
    before, after = answered.answer.before.expected.criteria, answered.plan.after.expected.criteria
    for name, expected in after.items():
        was = before.get(name)
        if was is None:
            moved = "new"
        else:
            change = (expected.end.share - was.end.share) * groups
            moved = effect_clause(change, groups) if abs(change) >= 0.05 else ""
        yield CriterionLine(
            label=capital(base.names[name]),
            first=expected_groups(expected.first.share, groups),
            end=expected_groups(expected.end.share, groups),
            likely=range_of_groups(expected.end.low, expected.end.high, groups),
            moved=moved,
        )


def check_view(check: CheckResult, by_itself: str) -> CheckView:
    return CheckView(
        label=capital(check.kind),
        verdict=check.verdict,
        word=check.verdict.said,
        text=check.text,
        numbers=list(in_words(check.kind, check.numbers)),
        mend=check.mend,
        by_itself=by_itself,
    )


def _time(plan: Recommendation) -> str:
    """In whole minutes, rounded to the safe side."""
    table = plan.timetable
    if table is None:
        return ""
    return f"{math.ceil(table.minutes_needed)} minutes needed, {math.floor(table.minutes_available)} there"


def _kit_line(item: KitItem, english: Speech) -> KitLine:
    said = amounts_of(item, english)
    return KitLine(capital(item.label), said.each, said.all, said.short, item.instead)


def _of_access(lever: str, base: RuleBase) -> bool:
    return lever in base.levers and base.levers[lever].kind == LeverKind.ACCESS


def _stations(kit: Kit, base: RuleBase) -> list[tuple[str, list[str]]]:
    """Things of the class by station."""
    return [(capital(s.label), [base.names.get(thing, thing) for thing in s.things]) for s in kit.stations]


def _prompts(prompts: Sequence[Prompt], audience: str) -> list[tuple[str, list[str]]]:
    """Questions under one heading each, however many rules ask about the same."""
    by_heading: dict[str, list[str]] = {}
    for prompt in prompts:
        if prompt.audience == audience:
            by_heading.setdefault(prompt.label, []).extend(prompt.questions)
    return list(by_heading.items())


def _untried(proposals: Sequence[Proposal]) -> str:
    untried = [p.label for p in proposals if any(b.supports == UNTRIED for b in p.basis)]
    if not untried:
        return ""
    which = "this change does" if len(proposals) == 1 else "these changes do"
    if len(untried) < len(proposals):
        which = f"{listed(untried)} {'does' if len(untried) == 1 else 'do'}"
    return f"How much {which} is our starting guess: no class here has tried it yet."


def shared_settings(settings: Mapping[str, Setting], base: RuleBase) -> dict[str, Setting]:
    """Settings without those of access: they would tell that there is a need."""
    return {k: v for k, v in settings.items() if k in base.levers and not _of_access(k, base)}
