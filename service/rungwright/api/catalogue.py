"""Routes that list what a request may name, and the rules with their sources."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from typing import Annotated, Any, TypeVar

from fastapi import FastAPI, Query
from pydantic import BaseModel, ConfigDict, Field

from rungwright.api.documented import failures
from rungwright.api.problems import MEANINGS, ProblemMeaning, no_such
from rungwright.api.views import (
    ChallengeSummary,
    CriterionView,
    Page,
    RuleView,
    SourceView,
    Stage,
    StandardView,
    rule_view,
)
from rungwright.domain.challenge import Challenge
from rungwright.domain.lever import Lever
from rungwright.domain.material import Material
from rungwright.rulebase import RuleBase

T = TypeVar("T")


class RulesQuery(BaseModel):
    model_config = ConfigDict(extra="forbid")

    stage: Stage | None = Field(default=None, description="only rules of this step")
    limit: int = Field(default=100, ge=1, le=500, description="rules on one page")
    cursor: str | None = Field(default=None, max_length=200, description="`next` of the page before")


def add_routes(app: FastAPI, base: RuleBase) -> None:
    sources = {k: SourceView(id=k, **s.model_dump()) for k, s in base.sources.items()}
    _list(app, "challenges", ChallengeSummary, [_summary(c) for c in base.challenges.values()])
    _one(app, "challenges", "challenge", Challenge, base.challenges)
    _list(app, "levers", Lever, list(base.levers.values()))
    _one(app, "levers", "lever", Lever, base.levers)
    _list(app, "materials", Material, list(base.materials.values()))
    _one(app, "materials", "material", Material, base.materials)
    _list(app, "criteria", CriterionView, _criteria(base))
    _list(app, "sources", SourceView, list(sources.values()))
    _one(app, "sources", "source", SourceView, sources)
    standards = [StandardView(id=k, **s.model_dump()) for k, s in base.standards.items()]
    _list(app, "standards", StandardView, standards)
    _list(app, "problems", ProblemMeaning, list(MEANINGS.values()))
    _one(app, "problems", "problem", ProblemMeaning, {m.id: m for m in MEANINGS.values()})
    _rules(app, base)


def _list(app: FastAPI, name: str, model: type[T], items: list[T]) -> None:
    page = Page[model](items=items, next=None)

    async def listed() -> Any:
        return page

    app.add_api_route(
        f"/v1/{name}",
        listed,
        response_model=Page[model],
        operation_id=f"list_{name}",
        tags=["catalogue"],
        summary=f"List {name}",
    )


def _one(app: FastAPI, name: str, what: str, model: type[T], entries: Mapping[str, T]) -> None:
    async def one(id: str) -> Any:
        if id not in entries:
            raise no_such(what, id, list(entries))
        return entries[id]

    app.add_api_route(
        f"/v1/{name}/{{id}}",
        one,
        response_model=model,
        operation_id=f"get_{what}",
        tags=["catalogue"],
        summary=f"One {what}",
        responses=failures(404),
    )


def _rules(app: FastAPI, base: RuleBase) -> None:
    views = {k: rule_view(base, base.rules[k]) for k in sorted(base.rules)}

    @app.get(
        "/v1/rules",
        operation_id="list_rules",
        tags=["catalogue"],
        summary="List rules, a page at a time",
        responses=failures(400),
    )
    async def list_rules(query: Annotated[RulesQuery, Query()]) -> Page[RuleView]:
        """In order of id."""
        ids = [k for k, view in views.items() if query.stage in (None, view.stage)]
        start = bisect_right(ids, query.cursor) if query.cursor else 0
        page = ids[start : start + query.limit]
        more = start + query.limit < len(ids)
        return Page[RuleView](items=[views[k] for k in page], next=page[-1] if more else None)

    @app.get(
        "/v1/rules/{id:path}",
        operation_id="get_rule",
        tags=["catalogue"],
        summary="One rule",
        responses=failures(404),
    )
    async def get_rule(id: str) -> RuleView:
        """The id of a rule is a path with slashes, such as adjust/shelter/load/second_spot_for_a_surplus."""
        if id not in views:
            raise no_such("rule", id, list(views))
        return views[id]


def _summary(challenge: Challenge) -> ChallengeSummary:
    return ChallengeSummary(
        id=challenge.id,
        family=challenge.family,
        label=challenge.label,
        need=challenge.need,
        criteria=[c.id for c in challenge.criteria],
        levers=sorted({lever for preset in challenge.presets.values() for lever in preset}),
    )


def _criteria(base: RuleBase) -> list[CriterionView]:
    return [
        CriterionView(challenge=challenge.id, **criterion.model_dump())
        for challenge in base.challenges.values()
        for criterion in challenge.criteria
    ]
