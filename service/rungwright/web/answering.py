"""From what was asked to the answer, with the settings that a teacher has put in place of proposed ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import ValidationError

from rungwright.api.answering import answer_to
from rungwright.api.asking import complete, keep
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import Choice, DecisionDraft
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.strict import Setting
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
    return Answered(answer, answer_to(told, rules), own)


def keep_plan(desk: Desk, caller: Caller, section: str, asked: Asked, reasons: Mapping[str, str]) -> str:
    """Keep an answer with what was decided about its proposals, and those left out on the way, and reserve its kit.

    Its id. `reasons`: lever -> code, why its change was left out. Raises ProblemError 422, 503.
    """
    for place, lever in enumerate(asked.left_out):
        asked_then = Asked(**{**vars(asked), "left_out": asked.left_out[:place], "to": ()})
        _keep_left_out(desk, caller, section, asked_then, lever, reasons.get(lever, "other"))
    request = request_of(desk, caller, section, asked)
    id, text, _ = keep(request, desk.keeper, caller, desk.rules, section=section)
    answer = Recommendation.model_validate_json(text, by_alias=True)
    answered = with_own(request, answer, dict(asked.to), desk.rules)
    with desk.store.writing() as session:
        row = Answers(session, caller).find(id)
        for proposal in answer.proposals:
            value = answered.own.get(proposal.lever)
            choice = Choice.KEPT if value is None else Choice.CHANGED
            draft = DecisionDraft(proposal=proposal.id, choice=choice, value=value)
            Decisions(session, caller).add(row, proposal_of(row, proposal.id), draft)
        kit = [(item.material, item.for_class) for item in answered.plan.kit.items]
        Lessons(session, caller).plan(section, id, date.today(), kit, desk.base.materials)
    return id


def _keep_left_out(desk: Desk, caller: Caller, section: str, asked: Asked, lever: str, reason: str) -> None:
    """The answer in which the change stood is kept too: a decision is about a proposal that was made."""
    request = request_of(desk, caller, section, asked)
    answer = answer_to(request, desk.rules)
    proposal = next((p for p in answer.proposals if p.lever == lever), None)
    if proposal is None:
        return
    codes = {known.code for known in proposal.decline_reasons}
    id, _, _ = keep(request, desk.keeper, caller, desk.rules, section=None)
    with desk.store.writing() as session:
        row = Answers(session, caller).find(id)
        draft = DecisionDraft(
            proposal=proposal.id, choice=Choice.DECLINED, reason=reason if reason in codes else "other"
        )
        Decisions(session, caller).add(row, proposal_of(row, proposal.id), draft)


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
