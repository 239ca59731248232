"""A small schema and short ways to write rules for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rungwright.engine import Fact, Firing, Pattern, Rule, Template, Test, compile_rules

stages = ("first", "second", "third")
schema: Mapping[str, Mapping[str, Any]] = {
    "section": {"grade": "number", "minutes": "number", "label": "word", "wet": "yes_no"},
    "criterion": {"name": "word", "share": "number", "grade": "number", "weak": "yes_no"},
    "finding": {"name": "word", "grade": "number"},
    "candidate": {"lever": "word", "steps": "number"},
}


def has(kind: str, alias: str, *tests: tuple[Any, ...]) -> Pattern:
    """A positive pattern; each test is (property, comparison[, value])."""
    return Pattern(kind, alias, tuple(Test(*test) for test in tests))


def no(kind: str, *tests: tuple[Any, ...]) -> Pattern:
    """A negated pattern."""
    return Pattern(kind, None, tuple(Test(*test) for test in tests), negated=True)


def rule(*when: Pattern, makes: Sequence[Template] = (), stage: str = "first", id: str = "r") -> Rule:
    """A rule of the first stage unless told."""
    return Rule(id, stage, when, tuple(makes))


def run(engine: str, rules: Rule | Sequence[Rule], facts: Sequence[Fact], schema: Any = schema) -> list[Firing]:
    """What the rules do to the facts."""
    rules = [rules] if isinstance(rules, Rule) else rules
    with compile_rules(stages, schema, rules, engine) as program:
        return program.run(facts)


def section(**values: Any) -> dict[str, Any]:
    """A section fact."""
    return {"kind": "section", **values}


def criterion(**values: Any) -> dict[str, Any]:
    """A criterion fact."""
    return {"kind": "criterion", **values}
