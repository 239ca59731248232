"""Why a rule did not fire, as a sentence for a person."""

from __future__ import annotations

from typing import Any

from rungwright.engine import Fact, Failure, Ref, Test
from rungwright.engine import Rule as EngineRule
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.rule import PatternSpec, Rule
from rungwright.rulebase.vocabulary import PropertySpec
from rungwright.rulebase.words import number, quantity, say_setting, say_word

_SAID = {"==": "", "!=": "other than ", ">=": "at least ", "<=": "at most ", ">": "more than ", "<": "less than "}
_MEASURES = ("g", "cm", "mm", "cm2", "mass_g", "length_cm", "length_mm", "area_cm2", "minutes", "seconds", "times")
ACCESS = "It is about an access need."


def failure_sentence(base: RuleBase, rule: Rule, variant: EngineRule, failure: Failure) -> str:
    """The first condition of one of the rule's `variants` that failed.

    Of a rule that tests a support nothing is told: another test would betray it.
    """
    if rule.tests_support:
        return ACCESS
    pattern = variant.when[failure.pattern]
    if failure.cause == "blocked":
        return f"It is held off, because there is {_fact_said(base, pattern.kind, failure.fact)}."
    if failure.cause == "no_reference" and failure.test is not None and isinstance(failure.test.value, Ref):
        what = _meaning(base, rule.aliases[failure.test.value.alias], failure.test.value.prop)
        return f"It needs “{what}” to be known; it is not."
    positive = rule.when[failure.pattern] if failure.pattern < len(rule.when) else None
    if failure.cause == "no_fact" or failure.test is None or _names_another(failure.test, positive):
        return f"It needs {_wanted_fact(base, pattern.kind, positive)}, and there is none."
    return _test_said(base, pattern.kind, failure.test, positive, failure.fact or {})


def _names_another(test: Test, pattern: PatternSpec | None) -> bool:
    """A fact of another name is not one that failed: the one that was meant is not there."""
    return test.prop == "name" and pattern is not None and test.op == "=="


def _wanted_fact(base: RuleBase, kind: str, pattern: PatternSpec | None) -> str:
    words = pattern.tests.get("name", {}) if pattern else {}
    names = [words["is"]] if "is" in words else words.get("one of", [])
    said = " or ".join(f"“{say_word(name, base.names)}”" for name in names)
    article = "an" if kind[0] in "aeiou" else "a"
    return f"the {kind} {said}" if said else f"{article} {kind} that it could be about"


def _test_said(base: RuleBase, kind: str, test: Test, pattern: PatternSpec | None, fact: Fact) -> str:
    what = _meaning(base, kind, test.prop)
    about = fact.get("name")
    of = f" ({say_word(about, base.names)})" if about and test.prop != "name" else ""
    have = fact.get(test.prop)
    is_ = "not known" if have is None else _value_said(base, kind, test.prop, have)
    if test.op == "exists":
        return f"It needs “{what}”{of} to be known; it is not."
    if test.op == "missing":
        return f"It needs “{what}”{of} not to be known; it is {is_}."
    if isinstance(test.value, Ref):
        return f"It needs “{what}”{of} to be the same as “{test.value.alias}.{test.value.prop}”; it is {is_}."
    listed = pattern.tests.get(test.prop, {}).get("one of", []) if pattern and test.op == "==" else []
    values = listed if test.value in listed else [test.value]
    wanted = " or ".join(_value_said(base, kind, test.prop, value) for value in values)
    return f"It needs “{what}”{of} to be {_SAID[test.op]}{wanted}; it is {is_}."


def _meaning(base: RuleBase, kind: str, prop: str) -> str:
    """The meaning up to its first semicolon: what follows explains."""
    return base.vocabulary.kinds[kind][prop].meaning.partition(";")[0].strip()


def _value_said(base: RuleBase, kind: str, prop: str, value: Any) -> str:
    if kind == "now" and prop in base.levers and base.levers[prop].accepts(value):
        return say_setting(base.levers[prop], value)
    spec: PropertySpec = base.vocabulary.kinds[kind][prop]
    if spec.type != "number":
        return say_word(value, base.names)
    if spec.unit in _MEASURES and value >= 0:
        return quantity(value, spec.unit, "both")
    return f"{value:.2f}" if spec.unit == "share" else number(value)


def _fact_said(base: RuleBase, kind: str, fact: Fact | None) -> str:
    name, about = (fact or {}).get("name"), (fact or {}).get("about")
    said = f" “{say_word(name, base.names)}”" if name else ""
    return f"the {kind}{said}" + (f" about “{say_word(about, base.names)}”" if about else "")
