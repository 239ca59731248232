"""A rule as it stands in a file: conditions, one verb, a reason, its basis, its cases."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from rungwright.domain.challenge import Family
from rungwright.domain.strict import Id, Lax, Setting, Strict

STAGES = ("derive", "adjust", "limit", "caution", "prompt")
VERBS = {
    "find": "derive",
    "propose": "adjust",
    "bound": "limit",
    "forbid": "limit",
    "hold": "limit",
    "ban": "limit",
    "pace": "limit",
    "warn": "caution",
    "ask": "prompt",
}
WORDS = (
    "is",
    "is not",
    "one of",
    "none of",
    "at least",
    "at most",
    "above",
    "below",
    "between",
    "present",
    "absent",
    "same as",
)


class Parameter(Strict):
    value: int | float
    unit: str
    range: Annotated[tuple[float, float], Lax]
    step: float = Field(gt=0)
    meaning: str = Field(min_length=1)

    @model_validator(mode="after")
    def _inside(self) -> Self:
        low, high = self.range
        if not low <= self.value <= high:
            raise ValueError(f"value {self.value} lies outside its range {low} to {high}")
        steps = (self.value - low) / self.step
        if abs(steps - round(steps)) > 1e-6:
            raise ValueError(f"value {self.value} is not a whole number of steps of {self.step} from {low}")
        return self


class PatternSpec(Strict):
    """One fact that must be there (or must not): its kind and tests, property -> word -> value."""

    kind: str
    alias: str | None
    tests: dict[str, dict[str, Any]]

    @model_validator(mode="before")
    @classmethod
    def _from_file(cls, value: object) -> object:
        if not isinstance(value, dict) or "kind" in value:
            return value
        kinds = [key for key in value if key != "as"]
        if len(kinds) != 1:
            raise ValueError("name exactly one kind of fact, with its tests")
        tests = value[kinds[0]]
        if tests is None:
            tests = {}
        if not isinstance(tests, dict):
            raise ValueError(f"{kinds[0]} takes properties with their tests")
        for prop, words in tests.items():
            if not isinstance(words, dict) or not words:
                raise ValueError(f"{prop} needs a test, for example {{at least: 3}} or {{is: load}}")
        return {"kind": kinds[0], "alias": value.get("as"), "tests": tests}


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


class BasisSpec(Strict):
    source: Id
    supports: str = Field(min_length=1)


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


class Rule(Strict):
    """A rule with its parameters put in. `id` is the path of its file, the first folder its stage."""

    id: str
    title: str = Field(min_length=1)
    families: list[Family] | None = None
    principle: str | None = None
    parameters: dict[Id, Parameter] = {}
    when: list[PatternSpec] = Field(min_length=1)
    unless: list[PatternSpec] = []
    find: Find | None = None
    propose: Propose | None = None
    bound: LeverSpec | None = None
    forbid: list[LeverSpec] | None = Field(default=None, min_length=2)
    hold: Hold | None = None
    ban: Ban | None = None
    pace: Literal["one_notch"] | None = None
    warn: str | None = None
    ask: AskFor | None = None
    because: str | None = None
    basis: list[BasisSpec] = Field(min_length=1)
    cases: Cases

    @model_validator(mode="after")
    def _one_verb(self) -> Self:
        verbs = [verb for verb in VERBS if getattr(self, verb) is not None]
        if len(verbs) != 1:
            raise ValueError(f"a rule has exactly one verb of {', '.join(VERBS)}; found {', '.join(verbs) or 'none'}")
        if VERBS[verbs[0]] != self.stage:
            raise ValueError(f"`{verbs[0]}` belongs under {VERBS[verbs[0]]}/, not {self.stage}/")
        if (self.because is None) != (self.stage == "derive"):
            raise ValueError("every rule but a derive rule gives its reason in `because`")
        if (self.cases.fires.says is None) != (self.stage == "derive"):
            raise ValueError("the case that fires gives the exact reason in `says`; a derive rule has none")
        return self

    @property
    def stage(self) -> str:
        return self.id.split("/")[0]

    @property
    def verb(self) -> str:
        return next(verb for verb in VERBS if getattr(self, verb) is not None)

    @property
    def gives(self) -> Any:
        """The verb's value as it stands in a file, parameters put in."""
        value = getattr(self, self.verb)
        parts = value if isinstance(value, list) else [value]
        plain = [p.model_dump(by_alias=True, exclude_none=True) if isinstance(p, Strict) else p for p in parts]
        return plain if isinstance(value, list) else plain[0]

    @cached_property
    def conditions(self) -> int:
        """Tests in all patterns: of two rules that propose the same, the more particular one leads."""
        return sum(len(words) for p in (*self.when, *self.unless) for words in p.tests.values())

    @cached_property
    def kinds(self) -> list[str]:
        """The kind of each pattern in `when`."""
        return [p.kind for p in self.when]

    @cached_property
    def aliases(self) -> dict[str, str]:
        """alias -> kind. A pattern without `as` goes by its kind, where that kind stands once."""
        kinds = self.kinds
        return {
            p.alias or (p.kind if kinds.count(p.kind) == 1 else f"{p.kind}#{i + 1}"): p.kind
            for i, p in enumerate(self.when)
        }


_PARAMETER = re.compile(r"\$([a-z][a-z0-9_]*)")
WITH_PARAMETERS = ("when", "unless", *(verb for verb in VERBS if verb not in ("warn", "ask")))


def has_parameter(data: Any) -> bool:
    """Whether a `$name` stands in plain data."""
    missing: set[str] = set()
    put_in(data, {}, set(), missing)
    return bool(missing)


def put_in(data: Any, values: Mapping[str, Any], used: set[str], missing: set[str]) -> Any:
    """`data` with each `$name` replaced; notes the names used and those that are not declared."""
    if isinstance(data, dict):
        return {k: put_in(v, values, used, missing) for k, v in data.items()}
    if isinstance(data, list):
        return [put_in(v, values, used, missing) for v in data]
    if isinstance(data, str) and (match := _PARAMETER.fullmatch(data)):
        name = match[1]
        if name not in values:
            missing.add(name)
            return data
        used.add(name)
        return values[name]
    return data
