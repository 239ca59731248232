"""What the engines should answer, worked out naively and apart from the service's own evaluator.

Shares only the rule form. Facts for each pattern are listed, every combination of them is tried whole, and the
definition of a match is applied to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations, product, takewhile
from typing import Any

from rungwright.engine import Fact, Pattern, Ref, Rule, Schema, Test

Answer = list[tuple[str, dict[str, Fact], list[Fact]]]
"""(rule, alias -> fact, facts made)"""


def answer(stages: Sequence[str], schema: Schema, rules: Sequence[Rule], facts: Sequence[Fact]) -> Answer:
    """Every firing in order."""
    memory = distinct(schema, facts)
    firings: Answer = []
    for stage in stages:
        found = [(rule, match) for rule in rules if rule.stage == stage for match in _matches(rule, list(memory))]
        for rule, match in found:
            made = []
            for template in rule.makes:
                fact = {"kind": template.kind}
                for prop, value in template.values:
                    fact[prop] = match[value.alias].get(value.prop) if isinstance(value, Ref) else value
                if _remember(memory, schema, fact):
                    made.append(fact)
            firings.append((rule.id, match, made))
    return firings


def distinct(schema: Schema, facts: Sequence[Fact]) -> list[Fact]:
    """The facts without those that are equal to an earlier one."""
    memory: list[Fact] = []
    for fact in facts:
        _remember(memory, schema, fact)
    return memory


def _remember(memory: list[Fact], schema: Schema, fact: Fact) -> bool:
    def content(one: Fact) -> list[Any]:
        return [one["kind"], *(_rounded(one.get(prop)) for prop in sorted(schema[one["kind"]]))]

    if any(content(fact) == content(known) for known in memory):
        return False
    memory.append(fact)
    return True


def _rounded(value: Any) -> Any:
    return value if value is None or isinstance(value, bool | str) else round(float(value), 4)


def _matches(rule: Rule, memory: list[Fact]) -> Iterator[dict[str, Fact]]:
    positive = [pattern for pattern in rule.when if not pattern.negated]
    options = [[place for place, fact in enumerate(memory) if _constants_hold(pattern, fact)] for pattern in positive]
    for places in product(*options):
        if len(set(places)) < len(places):
            continue
        match = {pattern.alias: memory[place] for pattern, place in zip(positive, places, strict=True)}
        rest = [fact for place, fact in enumerate(memory) if place not in places]
        if _is_match(rule, match, rest):
            yield match


def _is_match(rule: Rule, match: Mapping[str, Fact], rest: Sequence[Fact]) -> bool:
    for pattern in rule.when:
        for test in pattern.tests:
            if isinstance(test.value, Ref) and match[test.value.alias].get(test.value.prop) is None:
                return False
    for pattern in rule.when:
        if pattern.negated:
            if any(_constants_hold(pattern, fact) and _references_hold(pattern, fact, match) for fact in rest):
                return False
        elif not _references_hold(pattern, match[pattern.alias], match):
            return False
    return True


def _constants_hold(pattern: Pattern, fact: Fact) -> bool:
    return fact["kind"] == pattern.kind and all(
        _passes(test, fact.get(test.prop), test.value) for test in pattern.tests if not isinstance(test.value, Ref)
    )


def _references_hold(pattern: Pattern, fact: Fact, match: Mapping[str, Fact]) -> bool:
    return all(
        _passes(test, fact.get(test.prop), match[test.value.alias].get(test.value.prop))
        for test in pattern.tests
        if isinstance(test.value, Ref)
    )


def _passes(test: Test, value: Any, other: Any) -> bool:
    if test.op == "missing":
        return value is None
    if value is None:
        return False
    if test.op == "exists":
        return True
    if other is None:
        return False
    value, other = _rounded(value), _rounded(other)
    match test.op:
        case "==":
            return value == other
        case "!=":
            return value != other
        case "<":
            return value < other
        case "<=":
            return value <= other
        case ">":
            return value > other
        case _:
            return value >= other


def most_conditions(rule: Rule, memory: Sequence[Fact]) -> int:
    """The most conditions, from the first on, that any binding satisfies, by trying every binding of any length."""
    positive = [pattern for pattern in rule.when if not pattern.negated]
    negated = [pattern for pattern in rule.when if pattern.negated]
    most = 0
    for length in range(len(positive) + 1):
        for places in permutations(range(len(memory)), length):
            match = {pattern.alias: memory[place] for pattern, place in zip(positive, places, strict=False)}
            if any(
                _leading(pattern, match[pattern.alias], match) <= len(pattern.tests) for pattern in positive[:length]
            ):
                continue
            satisfied = sum(1 + len(pattern.tests) for pattern in positive[:length])
            rest = [fact for place, fact in enumerate(memory) if place not in places]
            if length < len(positive):
                satisfied += max((_leading(positive[length], fact, match) for fact in rest), default=0)
            else:
                clear = [_is_clear(pattern, rest, match) for pattern in negated]
                satisfied += [*clear, False].index(False)
            most = max(most, satisfied)
    return most


def _leading(pattern: Pattern, fact: Fact, match: Mapping[str, Fact]) -> int:
    """Conditions that hold: the kind, then each test."""
    if fact["kind"] != pattern.kind:
        return 0
    return 1 + sum(
        1 for _ in takewhile(lambda test: _passes(test, fact.get(test.prop), _other(test, match)), pattern.tests)
    )


def _is_clear(pattern: Pattern, rest: Sequence[Fact], match: Mapping[str, Fact]) -> bool:
    if any(isinstance(test.value, Ref) and _other(test, match) is None for test in pattern.tests):
        return False
    return all(_leading(pattern, fact, match) <= len(pattern.tests) for fact in rest)


def _other(test: Test, match: Mapping[str, Fact]) -> Any:
    return match[test.value.alias].get(test.value.prop) if isinstance(test.value, Ref) else test.value
