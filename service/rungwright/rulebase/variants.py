"""The engine's rules of one rule: one for each choice that an engine, which knows no `or`, has to be given apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import Any

from rungwright.engine import Pattern, Ref, Template, Test
from rungwright.engine import Rule as EngineRule
from rungwright.rulebase.rule import PatternSpec, Rule
from rungwright.rulebase.vocabulary import SINGLE

_OPS = {"is": "==", "is not": "!=", "at least": ">=", "at most": "<=", "above": ">", "below": "<"}
_OPPOSITE = {
    "==": "!=",
    "!=": "==",
    ">=": "<",
    "<=": ">",
    ">": "<=",
    "<": ">=",
    "exists": "missing",
    "missing": "exists",
}

Tests = tuple[Test, ...]


def variants(rule: Rule) -> list[EngineRule]:
    """One engine rule for each choice of `one of` words, and for each way past an `unless` on a single fact.

    An engine leaves the facts that a rule has matched aside when it looks for what must not be there. So `unless` on
    the one section (or `now`, or `checks`) that `when` reads too becomes tests of that fact: one test of it must fail.
    """
    positive = [
        [Pattern(p.kind, alias, (*tests, *past)) for tests in _alternatives(p) for past in _ways_past(rule, p.kind)]
        for alias, p in zip(rule.aliases, rule.when, strict=True)
    ]
    # A negated `one of` is not a variant: it is one negation for each word.
    negated = [
        Pattern(p.kind, None, tests, negated=True)
        for p in rule.unless
        if not on_matched_fact(rule, p)
        for tests in _alternatives(p)
    ]
    makes: tuple[Template, ...] = ()
    if rule.find:
        values: list[tuple[str, Any]] = [("name", rule.find.name)]
        if rule.find.about:
            values.append(("about", _value(rule.find.about)))
        makes = (Template("finding", tuple(values)),)
    name = rule.id.replace("/", ".")
    return [
        EngineRule(f"{name}.v{i}", rule.stage, (*patterns, *negated), makes)
        for i, patterns in enumerate(product(*positive))
    ]


def on_matched_fact(rule: Rule, unless: PatternSpec) -> bool:
    """Whether an `unless` speaks of a fact that `when` has matched: the only one of its kind."""
    return unless.kind in SINGLE and any(p.kind == unless.kind for p in rule.when)


def _ways_past(rule: Rule, kind: str) -> list[Tests]:
    """Each choice of one failing test an `unless` of this kind."""
    held = [p for p in rule.unless if p.kind == kind and on_matched_fact(rule, p)]
    ways = [[way for test in tests for way in _failing(test)] for p in held for tests in _alternatives(p)]
    return list(product(*ways))


def _failing(test: Test) -> Iterator[Test]:
    """What makes a test false: the opposite, or that its property is missing."""
    yield Test(test.prop, _OPPOSITE[test.op], test.value)
    if test.op not in ("exists", "missing"):
        yield Test(test.prop, "missing")


def _value(text: str) -> str | Ref:
    alias, dot, prop = text.partition(".")
    return Ref(alias, prop) if dot else text


def _alternatives(pattern: PatternSpec) -> list[Tests]:
    out: list[Tests] = [()]
    for prop, words in pattern.tests.items():
        for word, value in words.items():
            choices = [(t,) for t in _one_of(prop, value)] if word == "one of" else [_tests(prop, word, value)]
            out = [(*done, *more) for done in out for more in choices]
    return out


def _one_of(prop: str, values: Sequence[Any]) -> list[Test]:
    return [Test(prop, "==", v) for v in values]


def _tests(prop: str, word: str, value: Any) -> Tests:
    if word == "none of":
        return tuple(Test(prop, "!=", v) for v in value)
    if word == "between":
        return (Test(prop, ">=", value[0]), Test(prop, "<=", value[1]))
    if word in ("present", "absent"):
        return (Test(prop, "exists" if (word == "present") == bool(value) else "missing"),)
    if word == "same as":
        alias, _, other = value.partition(".")
        return (Test(prop, "==", Ref(alias, other)),)
    return (Test(prop, _OPS[word], value),)
