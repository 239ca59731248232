"""How planned rules are written for durable-rules, and how many of them one of its rulesets surely holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from json import JSONEncoder
from typing import Any

from rungwright.engine.check import PlannedPattern, PlannedRule
from rungwright.engine.errors import EngineError
from rungwright.engine.values import Comparable

# The bounds stay below the fixed sizes in the C code, which are in brackets; it does not check all of them itself.
MAX_STACK = 60
"""Conditions that one fact may make true at once on the way down the tree of conditions [64]."""
MAX_SHARED = 240
"""Patterns that are the same pattern [256]."""
MAX_ABSENT = 100
"""Tests for a missing property under one condition [128]."""
MAX_SIBLINGS = 400
"""Conditions under one condition [512]."""

_names = {"!=": "$neq", "<": "$lt", "<=": "$lte", ">": "$gt", ">=": "$gte", "exists": "$ex", "missing": "$nex"}
_LAST_SMALL = 2**31 - 1

dumps = JSONEncoder(ensure_ascii=False).encode
"""Words are compared as they are written, so facts and rules must be written by the same encoder."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One step on the way from the root of the tree to a pattern: `value` is a constant, or a join if `join`."""

    op: str
    prop: str
    value: Comparable | tuple[int, str] | None
    join: bool = False

    @property
    def rank(self) -> tuple[bool, str, str, str]:
        """One order for all rules, so that they share the way down."""
        return self.op != "==", self.op, self.prop, repr(self.value)


GO = (Condition("==", "kind", "$go"),)
"""The pattern of the marker that ends a batch of facts."""


def conditions(pattern: PlannedPattern) -> tuple[Condition, ...]:
    """The pattern's conditions in the one order in which durable-rules is exact."""
    own = [Condition(test.op, test.prop, test.value) for test in pattern.tests if test.ref is None]
    joins = [Condition(test.op, test.prop, test.ref, join=True) for test in pattern.tests if test.ref is not None]
    # A reference to a property that the left fact lacks would be error 311 in C and cut the batch short.
    referred = [Condition("exists", prop, None) for prop in pattern.referred]
    return (
        Condition("==", "kind", pattern.kind),
        *sorted({*own, *referred}, key=lambda condition: condition.rank),
        *joins,
        # If the last join of a pattern is false, C reads past the end of its list: let the last be there twice.
        *joins[-1:],
    )


def ruleset_text(rules: Sequence[PlannedRule]) -> str:
    """The ruleset in the JSON that `create_ruleset` reads; rule number 7 is named r7."""
    return dumps(
        {**{f"-{name}": _marker(name) for name in ("init", "go")}, **{f"r{r.number}": _rule(r) for r in rules}}
    )


def split(rules: Sequence[PlannedRule]) -> list[Sequence[PlannedRule]]:
    """The rules in as few halvings as it takes for each part to fit one ruleset's tables for any facts whatever.

    Raises:
        EngineError: a single rule does not fit. The limits of `check` rule that out.
    """
    if not rules:
        return []
    if _depth(_tree(rules)) <= MAX_STACK:
        return [rules]
    if len(rules) == 1:
        raise EngineError(f"rule {rules[0].rule.id}: too many conditions for durable-rules; split the rule in two")
    half = len(rules) // 2
    return split(rules[:half]) + split(rules[half:])


def _marker(name: str) -> dict[str, Any]:
    return {"pri": 65000, "all": [{"g": {"kind": f"${name}"}}]}


def _rule(rule: PlannedRule) -> dict[str, Any]:
    # Facts after a negation's match are not always noticed: such a rule starts to match with the last fact only.
    patterns: list[dict[str, Any]] = [{"g": {"kind": "$go"}}] if rule.negated else []
    for position, pattern in enumerate(rule.patterns):
        name = f"p{position}" if position < len(rule.positive) else f"p{position}$not"
        patterns.append({name: {"$and": [_expression(condition) for condition in conditions(pattern)]}})
    return {"pri": 0, "all": patterns}


def _expression(condition: Condition) -> dict[str, Any]:
    if condition.value is None:
        return {_names[condition.op]: {condition.prop: 1}}
    value: Any = condition.value
    if condition.join:
        position, prop = value
        value = {f"p{position}": prop}
    elif type(value) is int and abs(value) > _LAST_SMALL:
        value = float(value)  # the integers of a rule are read as a C long, which has 32 bits on Windows
    body = {condition.prop: value}
    return body if condition.op == "==" else {_names[condition.op]: body}


_END = None
_Tree = dict[Any, Any]


def _tree(rules: Sequence[PlannedRule]) -> _Tree:
    """The conditions as durable-rules shares them, with the number of patterns that end at each."""
    root: _Tree = {}
    for number, path in enumerate(_paths(rules)):
        node = root
        for step, condition in enumerate(path):
            # Joins are never shared, not even the same join in two rules. True and 1 are equal in Python only.
            value = (number, step) if condition.join else condition.value
            node = node.setdefault((condition.join, condition.op, condition.prop, type(value).__name__, value), {})
        node[_END] = node.get(_END, 0) + 1
    return root


def _paths(rules: Sequence[PlannedRule]) -> Iterator[tuple[Condition, ...]]:
    yield GO  # that of the marker rule; the other marker's pattern is one of a kind
    for rule in rules:
        if rule.negated:
            yield GO
        for pattern in rule.patterns:
            yield conditions(pattern)


def _depth(node: Mapping[Any, Any]) -> float:
    """The most entries that the matcher's stack can hold below this node; infinite if another table overflows."""
    below = {key: _depth(child) for key, child in node.items() if key is not _END}
    absent = sum(op == "missing" for _, op, *_ in below)
    if node.get(_END, 0) > MAX_SHARED or len(below) > MAX_SIBLINGS or absent > MAX_ABSENT:
        return float("inf")
    # Of the equalities of one property with different constants, a fact makes at most one true.
    together = {(op, prop) if op == "==" and not join else (join, op, prop, *rest) for join, op, prop, *rest in below}
    return max(1, len(together) - 1 + max(below.values(), default=0))
