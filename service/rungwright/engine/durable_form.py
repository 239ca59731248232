"""How planned rules are written for durable-rules, and how many of them one of its rulesets surely holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from json import JSONEncoder
from typing import Any, NamedTuple

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


class Condition(NamedTuple):
    """One step on the way from the root of the tree to a pattern: `value` is a constant, or a join if `join`."""

    op: str
    prop: str
    value: Comparable | tuple[int, str] | None
    join: bool = False


class WrittenRule(NamedTuple):
    """A rule and the conditions of each of its patterns."""

    rule: PlannedRule
    paths: tuple[tuple[Condition, ...], ...]


def write(rule: PlannedRule) -> WrittenRule:
    """The rule with its conditions in the one order in which durable-rules is exact."""
    return WrittenRule(rule, tuple(_path(pattern) for pattern in rule.patterns))


def split(rules: Sequence[WrittenRule]) -> list[Sequence[WrittenRule]]:
    """The rules in as few halvings as it takes for each part to fit one ruleset's tables for any facts whatever.

    Raises:
        EngineError: a single rule does not fit. The limits of `check` rule that out.
    """
    if not rules:
        return []
    if _depth(_tree(rules)) <= MAX_STACK:
        return [rules]
    if len(rules) == 1:
        raise EngineError(f"rule {rules[0].rule.rule.id}: too many conditions for durable-rules; split the rule in two")
    half = len(rules) // 2
    return split(rules[:half]) + split(rules[half:])


def ruleset_text(rules: Sequence[WrittenRule]) -> str:
    """The ruleset in the JSON that `create_ruleset` reads; rule number 7 is named r7."""
    markers = {f"-{name}": {"pri": 65000, "all": [{"g": {"kind": f"${name}"}}]} for name in ("init", "go")}
    return dumps(markers | {f"r{written.rule.number}": _definition(written) for written in rules})


def _path(pattern: PlannedPattern) -> tuple[Condition, ...]:
    own = {Condition(test.op, test.prop, test.value) for test in pattern.tests if test.ref is None}
    joins = [Condition(test.op, test.prop, test.ref, join=True) for test in pattern.tests if test.ref is not None]
    # A reference to a property that the left fact lacks would be error 311 in C and cut the batch short.
    own.update(Condition("exists", prop, None) for prop in pattern.referred)
    # If the last join of a pattern is false, C reads past the end of its list: let the last be there twice.
    return (Condition("==", "kind", pattern.kind), *sorted(own, key=_rank), *joins, *joins[-1:])


def _rank(condition: Condition) -> tuple[bool, str, str, str]:
    """Equalities first, and one order for all rules, so that they share the way down."""
    return condition.op != "==", condition.op, condition.prop, repr(condition.value)


def _definition(written: WrittenRule) -> dict[str, Any]:
    positive = len(written.rule.positive)
    # Facts after a negation's match are not always noticed: such a rule starts to match with the last fact only.
    patterns: list[dict[str, Any]] = [{"g": {"kind": "$go"}}] if written.rule.negated else []
    for position, path in enumerate(written.paths):
        name = f"p{position}" if position < positive else f"p{position}$not"
        patterns.append({name: {"$and": [_expression(condition) for condition in path]}})
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


def _tree(rules: Sequence[WrittenRule]) -> _Tree:
    """The conditions as durable-rules shares them, with the number of patterns that end at each."""
    root: _Tree = {}
    for number, path in enumerate(_paths(rules)):
        node = root
        for step, condition in enumerate(path):
            # Joins are never shared, not even the same join in two rules. True and 1 are equal in Python only.
            mark = (number, step) if condition.join else type(condition.value)
            node = node.setdefault((condition, mark), {})
        node[_END] = node.get(_END, 0) + 1
    return root


def _paths(rules: Sequence[WrittenRule]) -> Iterator[tuple[Condition, ...]]:
    go = (Condition("==", "kind", "$go"),)
    yield go  # of the marker rule; the other marker's pattern is one of a kind
    for written in rules:
        if written.rule.negated:
            yield go
        yield from written.paths


def _depth(node: _Tree) -> float:
    """The most entries that the matcher's stack can hold below this node; infinite if another table overflows."""
    if node.get(_END, 0) > MAX_SHARED:
        return float("inf")
    below = [key for key in node if key is not _END]
    if not below:
        return 1
    absent = sum(condition.op == "missing" for condition, _ in below)
    if len(below) > MAX_SIBLINGS or absent > MAX_ABSENT:
        return float("inf")
    # Of the equalities of one property with different constants, a fact makes at most one true.
    together = {key if key[0].join or key[0].op != "==" else key[0].prop for key in below}
    return len(together) - 1 + max(_depth(node[key]) for key in below)
