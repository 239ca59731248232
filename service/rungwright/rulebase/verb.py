"""What a rule says when it fires: one verb, as it stands in a file."""

from __future__ import annotations

from typing import Any, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.strict import Id, Setting, Strict


class Find(Strict):
    name: Id
    about: str | None = None


class Propose(Strict):
    lever: Id
    steps: int | None = Field(default=None, ge=1, le=8)
    to: Setting | None = None
    rank: int = Field(ge=1, le=5)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.steps is None) == (self.to is None):
            raise ValueError("give exactly one of `steps` and `to`")
        return self


class LeverSpec(Strict):
    """Tests of one lever's setting, as in a file."""

    lever: Id
    is_: Setting | None = Field(default=None, alias="is")
    is_not: Setting | None = Field(default=None, alias="is not")
    one_of: list[Setting] | None = Field(default=None, alias="one of")
    none_of: list[Setting] | None = Field(default=None, alias="none of")
    at_least: int | float | None = Field(default=None, alias="at least")
    at_most: int | float | None = Field(default=None, alias="at most")
    above: int | float | None = None
    below: int | float | None = None

    @model_validator(mode="after")
    def _some(self) -> Self:
        if not self.tests():
            raise ValueError("a lever needs a test, for example {at most: 2}")
        return self

    def tests(self) -> list[tuple[str, Any]]:
        """(word, value) pairs; lists as tuples."""
        pairs = [
            ("is", self.is_),
            ("is_not", self.is_not),
            ("one_of", tuple(self.one_of) if self.one_of is not None else None),
            ("none_of", tuple(self.none_of) if self.none_of is not None else None),
            ("at_least", self.at_least),
            ("at_most", self.at_most),
            ("above", self.above),
            ("below", self.below),
        ]
        return [(word, value) for word, value in pairs if value is not None]


class Hold(Strict):
    levers: list[Id] = Field(min_length=1)
    towards: Literal["easier", "harder"]


class Ban(Strict):
    material: Id | None = None
    tool: Id | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.material is None) == (self.tool is None):
            raise ValueError("ban exactly one material or one tool")
        return self


class AskFor(Strict):
    about: Id
    questions: list[str] = Field(min_length=1)
