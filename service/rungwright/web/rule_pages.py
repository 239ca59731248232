"""The rule base for coaches: every rule in plain words, searched, with what teachers decided about its proposals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.answering import answer_to
from rungwright.api.kept import pooled_view
from rungwright.api.kept_views import RuleDecided
from rungwright.api.problems import no_such
from rungwright.domain.ask import Include
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend.proposals import DECLINE_REASONS
from rungwright.rulebase import Rule
from rungwright.store import Decisions, Sections
from rungwright.web.answering import request_of
from rungwright.web.asked import Asked
from rungwright.web.desk import Desk, View
from rungwright.web.rule_view import STAGE_WORDS, RuleWords, found, rule_words
from rungwright.web.section_pages import ALL


@dataclass(frozen=True)
class RulesPage(View):
    template: ClassVar[str] = "rules.html"
    query: str
    stage: str
    stages: list[tuple[str, str]]
    groups: list[tuple[str, list[tuple[str, str]]]]
    """stage in words -> id and title of its rules"""
    count: int
    all: int
    version: str


@dataclass(frozen=True)
class Tried:
    """A rule tried on a section: what it said, or the first condition that was not met."""

    section_id: str
    section: str
    ask: str
    spoke: bool
    text: str


@dataclass(frozen=True)
class RulePage(View):
    template: ClassVar[str] = "rule.html"
    rule: RuleWords
    decided: RuleDecided | None
    reasons: list[tuple[str, int]]
    version: str
    sections: list[tuple[str, str]]
    tried: Tried | None


@dataclass(frozen=True)
class DecisionsPage(View):
    template: ClassVar[str] = "decisions.html"
    rows: list[tuple[RuleDecided, list[tuple[str, int]]]]


def routes(desk: Desk) -> list[Route]:
    words = dict(DECLINE_REASONS)

    def pooled(request: Request) -> list[RuleDecided]:
        private = {name for name, rule in desk.base.rules.items() if rule.tests_support}
        with desk.store.reading() as session:
            rows = Decisions(session, request.state.caller).by_rule(but=private)
        return [pooled_view(row, desk.base) for row in rows]

    def said(decided: RuleDecided) -> list[tuple[str, int]]:
        return [(words.get(code, code), n) for code, n in sorted(decided.reasons.items(), key=lambda r: -r[1])]

    def listed(request: Request) -> Response:
        query, stage = request.query_params.get("q", "")[:100], request.query_params.get("stage", "")
        rules = found(desk.base, query, stage if stage in STAGE_WORDS else "")
        groups = [(said, [(r.id, r.title) for r in rules if r.stage == name]) for name, said in STAGE_WORDS.items()]
        view = RulesPage(
            query=query,
            stage=stage,
            stages=list(STAGE_WORDS.items()),
            groups=[(said, part) for said, part in groups if part],
            count=len(rules),
            all=len(desk.base.rules),
            version=desk.base.version,
        )
        return desk.show(request, view)

    def one(request: Request) -> Response:
        id = request.path_params["id"]
        if id not in desk.base.rules:
            raise no_such("rule", id, list(desk.base.rules))
        decided = next((d for d in pooled(request) if d.rule == id), None)
        with desk.store.reading() as session:
            rows = Sections(session, request.state.caller).list(after=None, limit=ALL).items
        section = request.query_params.get("section")
        view = RulePage(
            rule=rule_words(desk.base.rules[id], desk.base),
            decided=decided,
            reasons=said(decided) if decided else [],
            version=desk.base.version,
            sections=[(row.id, row.body.label) for row in rows],
            tried=_tried(desk, request, desk.base.rules[id], section) if section else None,
        )
        return desk.show(request, view)

    def decisions(request: Request) -> Response:
        return desk.show(request, DecisionsPage([(decided, said(decided)) for decided in pooled(request)]))

    return [Route("/rules", listed), Route("/rules/{id:path}", one), Route("/decisions", decisions)]


def _tried(desk: Desk, request: Request, rule: Rule, section: str) -> Tried:
    """Raises ProblemError 400, 422."""
    asked = Asked.read(request.query_params, desk.base)
    told = request_of(desk, request.state.caller, section, asked)
    answer = answer_to(told.model_copy(update={"include": [Include.EXPLANATION]}), desk.rules)
    found = next((line for line in answer.explanation.considered if line.rule == rule.id), None)
    if found is not None:
        spoke, text = found.fired, _said_of(answer, rule) if found.fired else found.text
    elif rule.tests_support:
        spoke, text = False, "This rule is about supports: what it says of a section is shown to nobody."
    else:
        spoke, text = False, "It is for another kind of challenge."
    return Tried(section, answer.section.label, asked.direction.value, spoke, text)


def _said_of(answer: Recommendation, rule: Rule) -> str:
    """What a rule that speaks says in an answer; empty where it only finds or bounds something."""
    for proposal in answer.proposals:
        if rule.id in (proposal.rule.id, *proposal.also):
            return proposal.reason.text
    return "Its change was looked at; it is not among those that were chosen." if rule.propose else ""
