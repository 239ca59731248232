"""The plain evaluator: the semantics of the neutral rule form, spelt out in Python."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from rungwright.engine.check import PlannedPattern, PlannedRule, PlannedTest
from rungwright.engine.session import Match
from rungwright.engine.values import Known

_compare: Mapping[str, Callable[[Any, Any], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}


def holds(test: PlannedTest, fact: Known, bound: Sequence[Known]) -> bool:
    """Whether the fact passes the test, given the facts bound to the positive patterns before."""
    value = fact.values.get(test.prop)
    if test.op == "missing":
        return value is None
    if value is None:
        return False
    if test.op == "exists":
        return True
    other = test.value if test.ref is None else bound[test.ref[0]].values.get(test.ref[1])
    return other is not None and _compare[test.op](value, other)


def candidates(pattern: PlannedPattern, facts: Sequence[Known], bound: Sequence[Known]) -> Iterator[Known]:
    """The facts of the pattern's kind that no pattern of the rule has taken yet."""
    return (fact for fact in facts if fact.kind == pattern.kind and all(fact is not taken for taken in bound))


def blocker(pattern: PlannedPattern, facts: Sequence[Known], bound: Sequence[Known]) -> Known | None:
    """The first fact, of those that the rule has not matched itself, for which a negated pattern does not hold."""
    for fact in candidates(pattern, facts, bound):
        if all(holds(test, fact, bound) for test in pattern.tests):
            return fact
    return None


def missing_reference(pattern: PlannedPattern, bound: Sequence[Known]) -> int | None:
    """The place of the first test that refers to a property which the bound fact lacks."""
    for number, test in enumerate(pattern.tests):
        if test.ref and test.ref[1] not in bound[test.ref[0]].values:
            return number
    return None


def unmet(pattern: PlannedPattern, facts: Sequence[Known], bound: Sequence[Known]) -> bool:
    """Whether a negated pattern keeps its rule from firing."""
    return missing_reference(pattern, bound) is not None or blocker(pattern, facts, bound) is not None


class PlainMatcher:
    """One stage of rules, each tried against every combination of facts."""

    def __init__(self, rules: Sequence[PlannedRule]) -> None:
        self._rules = rules

    def match(self, facts: Sequence[Known]) -> Iterator[Match]:
        """See `session.Matcher`."""
        place = {id(fact): index for index, fact in enumerate(facts)}
        for rule in self._rules:
            for bound in _bindings(rule, facts, ()):
                yield rule.number, tuple(place[id(fact)] for fact in bound)

    def close(self) -> None:
        """Nothing is held."""


def _bindings(rule: PlannedRule, facts: Sequence[Known], bound: tuple[Known, ...]) -> Iterator[tuple[Known, ...]]:
    if len(bound) == len(rule.positive):
        if not any(unmet(pattern, facts, bound) for pattern in rule.negated):
            yield bound
        return
    pattern = rule.positive[len(bound)]
    for fact in candidates(pattern, facts, bound):
        if all(holds(test, fact, bound) for test in pattern.tests):
            yield from _bindings(rule, facts, (*bound, fact))
