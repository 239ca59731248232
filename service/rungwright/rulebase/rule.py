"""A rule as it stands in a file: conditions, one verb, a reason, its basis, its cases."""

from __future__ import annotations

from functools import cached_property
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.challenge import Family
from rungwright.domain.strict import Id, Strict
from rungwright.rulebase.case_spec import Cases
from rungwright.rulebase.parameter import Parameter
from rungwright.rulebase.verb import AskFor, Ban, Find, Hold, LeverSpec, Propose
from rungwright.rulebase.vocabulary import is_private

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
WITH_PARAMETERS = ("when", "unless", *(verb for verb in VERBS if verb not in ("warn", "ask")))
"""Parts of a rule in which a parameter may stand."""


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


class BasisSpec(Strict):
    source: Id
    supports: str = Field(min_length=1)


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
    def tests_support(self) -> bool:
        """Whether it tests a support: nothing that such a rule did, or did not, may be told."""
        return any(is_private(prop) for p in (*self.when, *self.unless) for prop in p.tests)

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
