"""The facts that rules may read: kinds, properties, types, units, meanings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.lever import Lever
from rungwright.domain.strict import Strict
from rungwright.engine.form import Schema, Type

PRIVATE_PREFIXES = ("need_", "may_mouth_")
"""Properties about supports: a rule may test them, no text or evidence may show them."""
SINGLE = ("section", "now", "checks")
"""Kinds of which there is exactly one fact."""
RESERVED = ("id", "kind", "sid")
"""Names that a property may not have: the engines use them."""


class PropertySpec(Strict):
    type: Type
    meaning: str = Field(min_length=1)
    unit: str | None = None
    one_of: list[str] | None = None
    step: str | None = None
    may_be_missing: bool = Field(default=False, description="not always known: a text quotes it only if tested")

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.type == "number" and not self.unit:
            raise ValueError("a number needs a unit")
        if self.one_of and self.type != "word":
            raise ValueError("only a word has a list of what it may be")
        return self


class KindSpec(Strict):
    step: Literal["start", "measure", "infer", "advise"]
    meaning: str
    most: int = Field(default=12, ge=1, description="facts of this kind in one run")
    properties: dict[str, PropertySpec]


@dataclass(frozen=True)
class Vocabulary:
    """Every kind with its properties; `now` has each lever, and for challenge levers what is left either way."""

    kinds: Mapping[str, Mapping[str, PropertySpec]]
    most: Mapping[str, int]
    """kind -> facts of it in one run"""
    advice: frozenset[str] = frozenset()
    """kinds that are there only for caution and prompt rules"""

    def get(self, kind: str, prop: str) -> PropertySpec | None:
        return self.kinds.get(kind, {}).get(prop)

    @cached_property
    def schema(self) -> Schema:
        return {kind: {name: spec.type for name, spec in props.items()} for kind, props in self.kinds.items()}


def vocabulary(kinds: Mapping[str, KindSpec], levers: Mapping[str, Lever]) -> Vocabulary:
    out = {kind: dict(spec.properties) for kind, spec in kinds.items()}
    now = out.setdefault("now", {})
    for lever in levers.values():
        number = lever.type == "number"
        now[lever.id] = PropertySpec(
            type=lever.type,
            meaning=lever.label,
            unit=(lever.many or lever.quantity) if number else None,
            one_of=[str(s) for s in lever.settings] if lever.type == "word" else None,
        )
    advice = frozenset(kind for kind, spec in kinds.items() if spec.step == "advise")
    return Vocabulary(out, {kind: spec.most for kind, spec in kinds.items()}, advice)


def is_private(prop: str) -> bool:
    return prop.startswith(PRIVATE_PREFIXES)
