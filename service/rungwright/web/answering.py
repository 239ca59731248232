"""From what was asked to the answer, with the settings that a teacher has put in place of proposed ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import ValidationError

from rungwright.api.answering import answer_to
from rungwright.api.asking import ToKeep, complete, to_keep
from rungwright.api.keeping import found_or_made
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import Choice, DecisionDraft
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.strict import Setting
from rungwright.recommend.wording import about_groups, outcome_clause
from rungwright.rulebase import CompiledRules
from rungwright.store import Answers, Caller, Decisions, Lessons, Sections
from rungwright.store.answers import proposal_of
from rungwright.store.tables import AnswerRow, DecisionRow
from rungwright.web.asked import Asked
from rungwright.web.desk import Desk


@dataclass(frozen=True)
class Answered:
    """`answer` is what was proposed; `plan` the same with the teacher's own settings: equal where there are none."""

    answer: Recommendation
    plan: Recommendation
    own: Mapping[str, Setting]


def work_out(desk: Desk, caller: Caller, section: str, asked: Asked) -> tuple[RecommendationRequest, Answered]:
    """Raises NotThere, ProblemError 400, 422, 503."""
    request = request_of(desk, caller, section, asked)
    return request, with_own(request, answer_to(request, desk.rules), dict(asked.to), desk.rules)


def request_of(desk: Desk, caller: Caller, section: str, asked: Asked) -> RecommendationRequest:
    """Raises NotThere, ProblemError 400, 422, 503."""
    with desk.store.reading() as session:
        Sections(session, caller).find(section)
    try:
        call = asked.call(section)
        return complete(call, desk.keeper, caller, desk.rules, in_place_of=date.today())
    except ValidationError as error:
        said = error.errors(include_url=False)[0]
        raise ProblemError(ProblemType.BAD_REQUEST, f"Today's numbers do not fit: {said['msg']}.") from None


def with_own(
    request: RecommendationRequest, answer: Recommendation, own: Mapping[str, Setting], rules: CompiledRules
) -> Answered:
    """Own settings count only where the answer proposes to change their lever. Raises ProblemError 422."""
    proposed = {proposal.lever: proposal.to for proposal in answer.proposals}
    own = {lever: value for lever, value in own.items() if lever in proposed and value != proposed[lever]}
    if not own:
        return Answered(answer, answer, own)
    settings = {**answer.after.settings, **own}
    # Every lever stays: what comes out is these settings with their checks, not another proposal.
    ask = request.ask.model_copy(update={"pinned": list(settings)})
    told = request.model_copy(update={"settings": settings, "ask": ask})
    plan = answer_to(told, rules)
    summary = plan.summary.model_copy(update={"headline": _with_own(answer, plan)})
    return Answered(answer, plan.model_copy(update={"summary": summary}), own)


def _with_own(answer: Recommendation, plan: Recommendation) -> str:
    """The sentence at the top, where settings of the teacher stand in place of proposed ones."""
    groups = plan.section.groups
    then, now = (e.all_criteria.groups for e in (plan.after.expected, answer.before.expected))
    otherwise = outcome_clause(now, groups) if groups == 1 else f"{about_groups(now, groups)} should"
    return f"With your own settings, {outcome_clause(then, groups)}. If nothing changes, {otherwise}."


def keep_plan(desk: Desk, caller: Caller, section: str, asked: Asked, reasons: Mapping[str, str]) -> str:
    """Keep an answer with what was decided about its proposals, and those left out on the way, and reserve its kit.

    All of it or nothing. Its id. `reasons`: lever -> code, why its change was left out. Raises ProblemError 422, 503.
    """
    left_out = []
    for place, lever in enumerate(asked.left_out):
        asked_then = Asked(**{**vars(asked), "left_out": asked.left_out[:place], "to": ()})
        # The answer in which the change stood is kept too: a decision is about a proposal that was made.
        held = _to_keep(desk, caller, section, asked_then)
        draft = _declined(held.answer, lever, reasons.get(lever, "other"))
        left_out += [(held, draft)] if draft else []
    held = _to_keep(desk, caller, section, asked)
    answered = with_own(held.request, held.answer, dict(asked.to), desk.rules)
    kit = [(item.material, item.for_class) for item in answered.plan.kit.items]

    def done() -> str:
        with desk.store.writing() as session:
            for other, draft in left_out:
                row, _ = other.put(session, caller, section=None)
                Decisions(session, caller).add(row, proposal_of(row, draft.proposal), draft)
            row, _ = held.put(session, caller, section=section)
            for proposal in held.answer.proposals:
                value = answered.own.get(proposal.lever)
                choice = Choice.KEPT if value is None else Choice.CHANGED
                draft = DecisionDraft(proposal=proposal.id, choice=choice, value=value)
                Decisions(session, caller).add(row, proposal_of(row, proposal.id), draft)
            Lessons(session, caller).plan(section, row.id, date.today(), kit, desk.base.materials)
            return row.id

    return found_or_made(done)


def _to_keep(desk: Desk, caller: Caller, section: str, asked: Asked) -> ToKeep:
    return to_keep(request_of(desk, caller, section, asked), desk.keeper, caller, desk.rules)


def _declined(answer: Recommendation, lever: str, reason: str) -> DecisionDraft | None:
    """None where the answer does not propose to change this lever."""
    proposal = next((p for p in answer.proposals if p.lever == lever), None)
    if proposal is None:
        return None
    codes = {known.code for known in proposal.decline_reasons}
    return DecisionDraft(proposal=proposal.id, choice=Choice.DECLINED, reason=reason if reason in codes else "other")


@dataclass(frozen=True)
class Plan:
    """A kept answer with the last decision about each of its proposals."""

    row: AnswerRow
    answered: Answered


def plan_of(desk: Desk, caller: Caller, id: str) -> Plan:
    """Raises NotThere, StoreUnavailable."""
    with desk.store.reading() as session:
        row = Answers(session, caller).find(id)
        decisions = Decisions(session, caller).list(id)
        # Both are read from the database when they are looked at, which needs its session.
        text, request = row.answer, row.request
    answer = Recommendation.model_validate_json(text, by_alias=True)
    return Plan(row, with_own(request, answer, own_settings(decisions, answer), desk.rules))


def own_settings(decisions: list[DecisionRow], answer: Recommendation) -> dict[str, Setting]:
    last = {decision.proposal: decision for decision in decisions}
    changed = [p for p in answer.proposals if p.id in last and last[p.id].choice == Choice.CHANGED]
    return {proposal.lever: last[proposal.id].value for proposal in changed}
