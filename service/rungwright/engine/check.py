"""What a rule base may hold, checked once for every engine, and the plan that the engines compile from.

The limits are those within which durable-rules answers exactly and cannot be made to crash. The other engines keep
to them too, so that a rule base which loads on one machine loads on every machine.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from rungwright.engine.errors import RuleError
from rungwright.engine.form import Op, Pattern, Ref, Rule, Scalar, Schema, Template, Test, Type
from rungwright.engine.schema import check_schema
from rungwright.engine.values import Comparable, comparable

MAX_PATTERNS = 14
"""Patterns a rule. A frame of durable-rules holds 16 facts, one of which may be the end-of-batch marker."""
MAX_JOINS = 28
"""Tests against another fact in one pattern. Durable-rules keeps 29, and the last is written twice."""
MAX_TESTS = 60
"""Tests in one pattern."""
order_ops = frozenset({"<", "<=", ">", ">="})
presence_ops = frozenset({"exists", "missing"})
_ops = frozenset(get_args(Op))


@dataclass(frozen=True, slots=True)
class PlannedTest:
    """A checked test: its constant in comparable form, or the place of the value that it refers to."""

    prop: str
    op: Op
    type: Type
    value: Comparable | None = None
    ref: tuple[int, str] | None = None
    """position among the positive patterns, property"""


@dataclass(frozen=True, slots=True)
class PlannedPattern:
    """A checked pattern. `index` is its place in the rule's `when`."""

    index: int
    kind: str
    tests: tuple[PlannedTest, ...]
    referred: tuple[str, ...]
    """properties that other patterns of the rule refer to, so that the fact must have them"""


@dataclass(frozen=True, slots=True)
class PlannedRule:
    """A checked rule with its positive patterns apart from the negated ones, each in file order."""

    number: int
    rule: Rule
    aliases: tuple[str, ...]
    positive: tuple[PlannedPattern, ...]
    negated: tuple[PlannedPattern, ...]

    @property
    def patterns(self) -> tuple[PlannedPattern, ...]:
        """The positive patterns, then the negated ones."""
        return self.positive + self.negated


@dataclass(frozen=True, slots=True)
class PlannedStage:
    """The rules of one stage in file order."""

    name: str
    rules: tuple[PlannedRule, ...]


def used_properties(rules: Iterable[PlannedRule]) -> dict[str, tuple[str, ...]]:
    """kind -> the properties that these rules look at, sorted; a kind that no pattern names is not there."""
    used: dict[str, set[str]] = {}
    for rule in rules:
        for pattern in rule.patterns:
            used.setdefault(pattern.kind, set()).update((test.prop for test in pattern.tests), pattern.referred)
    return {kind: tuple(sorted(props)) for kind, props in sorted(used.items())}


def plan(stages: Sequence[str], schema: Schema, rules: Sequence[Rule]) -> list[PlannedStage]:
    """Check a rule base and lay it out by stage. Rules are numbered in the order given.

    Raises:
        RuleError: anything that the neutral form or the limits above do not allow.
    """
    if len(set(stages)) != len(stages):
        raise RuleError(f"stages {list(stages)}: a stage is named twice")
    check_schema(schema)
    made_in = _made_in(stages, rules)
    seen: set[str] = set()
    by_stage: dict[str, list[PlannedRule]] = {stage: [] for stage in stages}
    for number, rule in enumerate(rules):
        if not rule.id or rule.id in seen:
            raise RuleError(f"rule {rule.id!r}: an id must not be empty or used twice")
        seen.add(rule.id)
        if rule.stage not in by_stage:
            raise RuleError(f"rule {rule.id}: stage {rule.stage!r} is not one of {list(stages)}")
        _check_order(rule, stages, made_in)
        by_stage[rule.stage].append(plan_rule(schema, rule, number))
    return [PlannedStage(stage, tuple(planned)) for stage, planned in by_stage.items()]


def plan_rule(schema: Schema, rule: Rule, number: int = 0) -> PlannedRule:
    """Check one rule against the schema; stages and the ids of other rules are not looked at.

    Raises:
        RuleError: a pattern, test or template that is not allowed.
    """
    if not any(not pattern.negated for pattern in rule.when) or len(rule.when) > MAX_PATTERNS:
        raise RuleError(f"rule {rule.id}: 1 to {MAX_PATTERNS} patterns, at least one of them not negated")
    place: dict[str, int] = {}
    kinds: list[str] = []
    referred: dict[int, set[str]] = defaultdict(set)
    checked: list[tuple[bool, int, Pattern, tuple[PlannedTest, ...]]] = []
    for index, pattern in enumerate(rule.when):
        where = f"rule {rule.id}, pattern {index + 1} ({pattern.kind})"
        tests = tuple(_plan_tests(where, schema, pattern, place, kinds))
        for test in tests:
            if test.ref:
                referred[test.ref[0]].add(test.ref[1])
        _take_alias(where, pattern, place)
        if not pattern.negated:
            kinds.append(pattern.kind)
        checked.append((pattern.negated, index, pattern, tests))
    positive = [
        PlannedPattern(index, pattern.kind, tests, tuple(sorted(referred[position])))
        for position, (_, index, pattern, tests) in enumerate(entry for entry in checked if not entry[0])
    ]
    negated = [PlannedPattern(index, pattern.kind, tests, ()) for negated, index, pattern, tests in checked if negated]
    for template in rule.makes:
        _check_template(f"rule {rule.id}, makes {template.kind}", schema, template, place, kinds)
    return PlannedRule(number, rule, tuple(place), tuple(positive), tuple(negated))


def _made_in(stages: Sequence[str], rules: Sequence[Rule]) -> Mapping[str, tuple[int, str]]:
    """kind -> (place of the last stage that makes it, a rule of that stage that does)."""
    order = {stage: place for place, stage in enumerate(stages)}
    made_in: dict[str, tuple[int, str]] = {}
    for rule in rules:
        place = order.get(rule.stage, -1)
        for template in rule.makes:
            if place > made_in.get(template.kind, (-1, ""))[0]:
                made_in[template.kind] = (place, rule.id)
    return made_in


def _check_order(rule: Rule, stages: Sequence[str], made_in: Mapping[str, tuple[int, str]]) -> None:
    """A stage that read what it makes would depend on the order of rules and facts, and negation would be inexact."""
    for index, pattern in enumerate(rule.when):
        place, maker = made_in.get(pattern.kind, (-1, ""))
        if place >= stages.index(rule.stage):
            raise RuleError(
                f"rule {rule.id}, pattern {index + 1}: stage {rule.stage} cannot read {pattern.kind}, which rule "
                f"{maker} makes in stage {stages[place]}; read it in a later stage"
            )


def _take_alias(where: str, pattern: Pattern, place: dict[str, int]) -> None:
    if pattern.negated:
        if pattern.alias is not None:
            raise RuleError(f"{where}: a negated pattern matches no fact and takes no alias")
    elif not pattern.alias or pattern.alias in place:
        raise RuleError(f"{where}: alias {pattern.alias!r} must be given, once in the rule")
    else:
        place[pattern.alias] = len(place)


def _plan_tests(
    where: str, schema: Schema, pattern: Pattern, place: Mapping[str, int], kinds: Sequence[str]
) -> Iterator[PlannedTest]:
    if pattern.kind not in schema:
        raise RuleError(f"{where}: the schema declares no such kind, only {sorted(schema)}")
    if len(pattern.tests) > MAX_TESTS:
        raise RuleError(f"{where}: {len(pattern.tests)} tests, at most {MAX_TESTS} are allowed")
    joins = sum(isinstance(test.value, Ref) for test in pattern.tests)
    if joins > MAX_JOINS:
        raise RuleError(f"{where}: {joins} tests refer to other facts, at most {MAX_JOINS} are allowed")
    for test in pattern.tests:
        yield _plan_test(f"{where}, {test.prop} {test.op}", schema, pattern.kind, test, place, kinds)


def _plan_test(
    where: str, schema: Schema, kind: str, test: Test, place: Mapping[str, int], kinds: Sequence[str]
) -> PlannedTest:
    type_ = schema[kind].get(test.prop)
    if type_ is None:
        raise RuleError(f"{where}: {kind} declares no {test.prop}, only {sorted(schema[kind])}")
    if test.op not in _ops:
        raise RuleError(f"{where}: the comparison is not one of {sorted(_ops)}")
    if test.op in presence_ops:
        if test.value is not None:
            raise RuleError(f"{where}: {test.op} takes no value, not {test.value!r}")
        return PlannedTest(test.prop, test.op, type_)
    if test.op in order_ops and type_ != "number":
        raise RuleError(f"{where}: only a number has an order, and {test.prop} is a {type_}")
    if isinstance(test.value, Ref):
        return PlannedTest(test.prop, test.op, type_, ref=_resolve(where, schema, test.value, type_, place, kinds))
    return PlannedTest(test.prop, test.op, type_, value=_constant(where, test.value, type_))


def _check_template(
    where: str, schema: Schema, template: Template, place: Mapping[str, int], kinds: Sequence[str]
) -> None:
    if template.kind not in schema:
        raise RuleError(f"{where}: the schema declares no such kind, only {sorted(schema)}")
    props = [prop for prop, _ in template.values]
    if len(set(props)) != len(props):
        raise RuleError(f"{where}: a property is given twice in {props}")
    for prop, value in template.values:
        type_ = schema[template.kind].get(prop)
        if type_ is None:
            raise RuleError(f"{where}: it declares no {prop}, only {sorted(schema[template.kind])}")
        if isinstance(value, Ref):
            _resolve(f"{where}, {prop}", schema, value, type_, place, kinds)
        else:
            _constant(f"{where}, {prop}", value, type_)


def _resolve(
    where: str, schema: Schema, ref: Ref, type_: Type, place: Mapping[str, int], kinds: Sequence[str]
) -> tuple[int, str]:
    position = place.get(ref.alias)
    if position is None:
        raise RuleError(f"{where}: {ref.alias!r} is not the alias of an earlier pattern, which are {sorted(place)}")
    found = schema[kinds[position]].get(ref.prop)
    if found != type_:
        raise RuleError(f"{where}: {ref.alias}.{ref.prop} is {found or 'not declared'}, and a {type_} is needed")
    return position, ref.prop


def _constant(where: str, value: Scalar | None, type_: Type) -> Comparable:
    try:
        return comparable(value, type_)
    except ValueError as error:
        raise RuleError(f"{where}: {value!r:.80}: {error}") from None
