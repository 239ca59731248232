"""The cases that a rule carries, as they stand in a file."""

from __future__ import annotations

from typing import Any, Self

from pydantic import Field, field_validator, model_validator

from rungwright.domain.strict import Setting, Strict


class Move(Strict):
    from_: Setting = Field(alias="from")
    to: Setting


class FiresCase(Strict):
    facts: list[dict[str, dict[str, Setting]]] = Field(min_length=1)
    move: Move | None = None
    gives: Any = Field(default=None, description="the verb's value, where a parameter stands in it")
    says: str | None = None


class OtherCase(Strict):
    """A change to the facts of the case that fires, and whether the rule still fires."""

    near_miss: str | None = None
    boundary: str | None = None
    missing_fact: str | None = None
    set: dict[str, Setting] = {}
    drop: list[str] = []
    add: list[dict[str, dict[str, Setting]]] = []
    remove: list[str] = []
    fires: bool

    @field_validator("fires", mode="before")
    @classmethod
    def _yes_no(cls, value: object) -> object:
        return {"yes": True, "no": False}.get(value, value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _one_label(self) -> Self:
        if sum(x is not None for x in (self.near_miss, self.boundary, self.missing_fact)) != 1:
            raise ValueError("label a case with exactly one of near_miss, boundary, missing_fact")
        if not (self.set or self.drop or self.add or self.remove):
            raise ValueError("the case changes nothing; use set, drop, add or remove")
        return self

    @property
    def label(self) -> str:
        return next(name for name in ("near_miss", "boundary", "missing_fact") if getattr(self, name) is not None)


class Cases(Strict):
    fires: FiresCase
    others: list[OtherCase] = Field(min_length=1)
