"""What the catalogue routes answer."""

from __future__ import annotations

from enum import StrEnum
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from rungwright.domain.challenge import Criterion
from rungwright.domain.strict import Setting
from rungwright.rulebase import Rule, RuleBase

T = TypeVar("T")


class View(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Page(View, Generic[T]):
    """A part of a list. `next` is null on the last page; else give it as `cursor` for the page after."""

    items: list[T]
    next: str | None


class ChallengeSummary(View):
    id: str
    family: str
    label: str
    need: str
    criteria: list[str]
    levers: list[str]


class CriterionView(Criterion):
    """A criterion with the challenge it belongs to."""

    challenge: str


class SourceView(View):
    id: str
    kind: str
    title: str
    publisher: str | None
    locator: str | None
    note: str | None
    used_by: str | None


class StandardView(View):
    id: str
    code: str
    bands: list[str]
    text: str
    caution: str | None
    source: str | None


class Stage(StrEnum):
    """The steps in which rules run, in order."""

    DERIVE = "derive"
    ADJUST = "adjust"
    LIMIT = "limit"
    CAUTION = "caution"
    PROMPT = "prompt"


class ConditionView(View):
    """A fact that must be there (`when`) or must not (`unless`)."""

    kind: str
    name: str = Field(description="how the rule calls the fact; its kind where it gives no other name")
    tests: dict[str, dict[str, Any]] = Field(description="property -> word -> value")


class ParameterView(View):
    value: float
    unit: str
    low: float
    high: float
    step: float
    meaning: str


class BasisView(View):
    source: str
    label: str
    kind: str
    supports: str


class RuleView(View):
    id: str
    version: str
    title: str
    stage: Stage
    families: list[str] | None = Field(description="null: for every family")
    principle: str | None
    parameters: dict[str, ParameterView]
    when: list[ConditionView]
    unless: list[ConditionView]
    verb: str = Field(description="find, propose, bound, forbid, hold, ban, pace, warn or ask")
    does: Setting | list[dict[str, Any]] | dict[str, Any] = Field(description="what the verb is about")
    because: str | None = Field(description="the reason, with places for the facts that made the rule fire")
    basis: list[BasisView]


def rule_view(base: RuleBase, rule: Rule) -> RuleView:
    conditions = {
        part: [ConditionView(kind=p.kind, name=p.alias or p.kind, tests=p.tests) for p in getattr(rule, part)]
        for part in ("when", "unless")
    }
    return RuleView(
        id=rule.id,
        version=base.version,
        title=rule.title,
        stage=Stage(rule.stage),
        families=list(rule.families) if rule.families is not None else None,
        principle=rule.principle,
        parameters={
            name: ParameterView(
                value=p.value, unit=p.unit, low=p.range[0], high=p.range[1], step=p.step, meaning=p.meaning
            )
            for name, p in rule.parameters.items()
        },
        verb=rule.verb,
        does=_plain(getattr(rule, rule.verb)),
        because=rule.because,
        basis=[
            BasisView(
                source=b.source,
                label=base.sources[b.source].title,
                kind=base.sources[b.source].kind,
                supports=b.supports,
            )
            for b in rule.basis
        ],
        **conditions,
    )


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json", by_alias=True, exclude_none=True)
    if isinstance(value, list):
        return [_plain(v) for v in value]
    return value


class Alive(View):
    status: str
    version: str


class Ready(View):
    status: str
    data: str = Field(description="where things are kept: sqlite, postgresql or none")
    engine: str
    rule_base_version: str
    rule_base_digest: str
