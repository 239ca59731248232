"""Routes of kept answers: read again, explained, decided upon."""

from __future__ import annotations

import json
from typing import Annotated

from fastapi import FastAPI, Query, Request
from fastapi.responses import Response
from sqlalchemy.orm import Session
from starlette.convertors import StringConvertor, register_url_convertor

from rungwright.api.body import JSON
from rungwright.api.documented import creates, failures
from rungwright.api.keeping import Keeper, SectionQuery, draft_of, named_in, page_of
from rungwright.api.kept_views import KeptAnswer, KeptDecision, RuleDecided
from rungwright.api.problems import invalid
from rungwright.api.views import Page
from rungwright.domain.keeping import Choice, DecisionDraft
from rungwright.domain.recommendation import Explanation, Recommendation
from rungwright.recommend.problem import FieldProblem, unknown
from rungwright.recommend.resolve import not_allowed
from rungwright.rulebase import RuleBase
from rungwright.store import Answers, Caller, Decisions
from rungwright.store.answers import Proposed, RuleDecisions, proposal_of
from rungwright.store.tables import AnswerRow, DecisionRow


class _KeptId(StringConvertor):
    """Any text but the name of the address beside it, which takes other methods."""

    regex = "(?!batch$)[^/]+"


register_url_convertor("kept", _KeptId())


def add_routes(app: FastAPI, keeper: Keeper, base: RuleBase) -> None:
    @app.get(
        "/v1/recommendations",
        operation_id="list_recommendations",
        tags=["recommendations"],
        summary="List kept answers, a page at a time",
        responses=failures(400),
    )
    async def list_recommendations(request: Request, query: Annotated[SectionQuery, Query()]) -> Page[KeptAnswer]:
        def work(session: Session, caller: Caller) -> Page[KeptAnswer]:
            found = Answers(session, caller).list(section=query.section_id, after=query.cursor, limit=query.limit)
            return page_of(found, answer_view)

        return await keeper.read(request, work)

    @app.get(
        "/v1/recommendations/{id:kept}",
        operation_id="get_recommendation",
        tags=["recommendations"],
        summary="One kept answer, as it was given",
        response_model=Recommendation,
        responses=failures(404),
    )
    async def get_recommendation(id: str, request: Request) -> Response:
        row = await keeper.read(request, lambda *at: Answers(*at).find(id))
        return Response(row.answer, media_type=JSON)

    @app.get(
        "/v1/recommendations/{id:kept}/explanation",
        operation_id="explain_recommendation",
        tags=["recommendations"],
        summary="Why: every rule that was considered, and what each said",
        response_model=Explanation,
        responses=failures(404),
    )
    async def explain_recommendation(id: str, request: Request) -> Response:
        row = await keeper.read(request, lambda *at: Answers(*at).find(id))
        return Response(row.explanation, media_type=JSON)

    @app.get(
        "/v1/recommendations/{id:kept}/decisions",
        operation_id="list_decisions",
        tags=["decisions"],
        summary="What was decided about an answer's proposals",
        responses=failures(404),
    )
    async def list_decisions(id: str, request: Request) -> Page[KeptDecision]:
        """Oldest first; the last one about a proposal counts."""
        rows = await keeper.read(request, lambda *at: Decisions(*at).list(id))
        return Page(items=[decision_view(row) for row in rows], next=None)

    @app.post(
        "/v1/recommendations/{id:kept}/decisions",
        operation_id="decide",
        tags=["decisions"],
        summary="Keep, change or decline one proposal",
        **creates(KeptDecision, DecisionDraft, 404),
    )
    async def decide(id: str, request: Request) -> Response:
        """Said twice, it stands once. Said otherwise later, the later one counts and the earlier one stays."""
        draft, raw = await draft_of(request, DecisionDraft)

        def work(session: Session, caller: Caller) -> str:
            row = Answers(session, caller).find(id)
            with named_in("/proposal", "proposal"):
                proposal = proposal_of(row, draft.proposal)
            check_decision(draft, proposal, base)
            return Decisions(session, caller).add(row, proposal, draft)[0].id

        def show(session: Session, caller: Caller, made: str) -> KeptDecision:
            return decision_view(Decisions(session, caller).find(made))

        return await keeper.create(request, work, show, raw)

    @app.get(
        "/v1/decisions",
        operation_id="list_decisions_by_rule",
        tags=["decisions"],
        summary="What was decided about each rule's proposals, pooled over all sections",
    )
    async def list_decisions_by_rule(request: Request) -> Page[RuleDecided]:
        """Most declined first."""
        private = {name for name, rule in base.rules.items() if rule.tests_support}
        pooled = await keeper.read(request, lambda *at: Decisions(*at).by_rule(but=private))
        return Page(items=[pooled_view(rule, base) for rule in pooled], next=None)


def check_decision(draft: DecisionDraft, proposal: Proposed, base: RuleBase) -> None:
    """Raises ProblemError 422 for a reason or a value that the proposal does not know."""
    if draft.reason is not None and draft.reason not in proposal.reasons:
        raise invalid([unknown("/reason", "reason to decline", draft.reason, proposal.reasons)])
    lever = base.levers.get(proposal.lever)
    if draft.value is not None and lever is not None and not lever.accepts(draft.value):
        raise invalid([not_allowed("/value", draft.value, lever)])
    if draft.choice == Choice.CHANGED and draft.value == proposal.to:
        raise invalid([FieldProblem("/value", "this is what was proposed; say `kept`")])


def answer_view(row: AnswerRow) -> KeptAnswer:
    answer = json.loads(row.answer)
    return KeptAnswer(
        id=row.id,
        created_at=row.created_at,
        section_id=row.section_id,
        challenge=answer["challenge"]["id"],
        section=answer["section"]["label"],
        asked=answer["asked"],
        headline=answer["summary"]["headline"],
        proposals=len(answer["proposals"]),
    )


def decision_view(row: DecisionRow) -> KeptDecision:
    return KeptDecision(
        id=row.id,
        decided_at=row.decided_at,
        proposal=row.proposal,
        lever=row.lever,
        rule=row.rule,
        choice=Choice(row.choice),
        value=row.value,
        reason=row.reason,
        note=row.note,
    )


def pooled_view(pooled: RuleDecisions, base: RuleBase) -> RuleDecided:
    rule = base.rules.get(pooled.rule)
    return RuleDecided(
        rule=pooled.rule,
        title=rule.title if rule else pooled.rule,
        kept=pooled.counts[Choice.KEPT],
        changed=pooled.counts[Choice.CHANGED],
        declined=pooled.counts[Choice.DECLINED],
        reasons=dict(sorted(pooled.reasons.items())),
    )
