"""Conditions: declared facts, tests that fit their type, joins that can be made, tests that can hold together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rungwright.rulebase.checks.contradictions import contradiction
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.rule import WORDS, PatternSpec

ADVISE = ("caution", "prompt")

_ANY = ("is", "is not", "present", "absent", "same as")
_WORDS = {
    "number": (*_ANY, "one of", "none of", "at least", "at most", "above", "below", "between"),
    "word": (*_ANY, "one of", "none of"),
    "yes_no": _ANY,
}


def check_patterns(report: Report) -> None:
    rule = report.rule
    for part, patterns in (("when", rule.when), ("unless", rule.unless)):
        for i, pattern in enumerate(patterns):
            _check_pattern(report, (part, i), pattern)


def _check_pattern(report: Report, at: tuple, pattern: PatternSpec) -> None:
    names, kind = report.names, pattern.kind
    if report.add((*at, kind), names.kind_mistake(kind), key=True):
        return
    if kind == "finding" and report.rule.stage == "derive":
        report.add((*at, kind), "a derive rule never reads findings: test the facts behind them", key=True)
    if kind in names.base.vocabulary.advice and report.rule.stage not in ADVISE:
        report.add((*at, kind), f"{kind} is there only for caution and prompt rules", key=True)
    _check_alias(report, at, pattern)
    for prop, words in pattern.tests.items():
        there = (*at, kind, prop)
        if report.add(there, names.property_mistake(kind, prop), key=True):
            continue
        wrong = [
            report.add((*there, word), _test_mistake(report, at, kind, prop, word, value), key=word not in WORDS)
            for word, value in words.items()
        ]
        if not any(wrong):
            report.add(there, _never(report, kind, prop, words), key=True)


def _check_alias(report: Report, at: tuple, pattern: PatternSpec) -> None:
    part, index = at
    taken = _aliases(report.rule.when[:index]) if part == "when" else []
    if pattern.alias is None:
        if part == "when" and pattern.kind in taken and report.rule.kinds.count(pattern.kind) == 1:
            report.add((*at, pattern.kind), f"the name {pattern.kind!r} is given to another condition", key=True)
    elif part == "unless":
        report.add((*at, "as"), "a fact that must not be there has no name: leave `as` out", key=True)
    elif pattern.alias in ("from", "to") or not pattern.alias.isidentifier():
        report.add((*at, "as"), f"{pattern.alias!r} cannot be a name here: letters and digits, and not from or to")
    elif pattern.alias in taken:
        report.add((*at, "as"), f"the name {pattern.alias!r} is given twice")


def _aliases(patterns: Sequence[PatternSpec]) -> list[str]:
    kinds = [p.kind for p in patterns]
    return [p.alias or p.kind for p in patterns if p.alias or kinds.count(p.kind) == 1]


def _test_mistake(report: Report, at: tuple, kind: str, prop: str, word: str, value: Any) -> str | None:
    names = report.names
    type_ = names.base.vocabulary.kinds[kind][prop].type
    if word not in WORDS:
        return f"{word!r} is not a test{nearest(word, WORDS)}"
    if word not in _WORDS[type_]:
        return f"{word!r} does not suit {kind}.{prop}, which is a {type_}; use {', '.join(_WORDS[type_])}"
    if word in ("present", "absent"):
        other = "absent" if word == "present" else "present"
        return None if value is True else f"write `{word}: true`, or `{other}: true`"
    if word == "same as":
        return _join_mistake(report, at, type_, value)
    if word == "between":
        if not isinstance(value, list) or len(value) != 2:
            return "`between` takes two numbers, both ends in: [low, high]"
    elif word in ("one of", "none of"):
        if not isinstance(value, list) or not value or len({repr(v) for v in value}) != len(value):
            return f"`{word}` takes a list of different values"
    else:
        value = [value]
    return next((mistake for v in value if (mistake := names.value_mistake(kind, prop, v))), None)


def _join_mistake(report: Report, at: tuple, type_: str, value: Any) -> str | None:
    alias, _, prop = str(value).partition(".")
    part, index = at
    known = list(report.rule.aliases)
    if part == "when":
        known = known[:index]
    if alias not in known:
        return f"`same as` takes alias.property of an earlier condition; {alias!r} is none{nearest(alias, known)}"
    kind = report.rule.aliases[alias]
    if kind not in report.names.base.vocabulary.kinds:
        return None  # told where that condition stands
    if mistake := report.names.property_mistake(kind, prop):
        return mistake
    other = report.names.base.vocabulary.kinds[kind][prop].type
    return None if other == type_ else f"{value} is a {other}, and a {type_} is needed"


def _never(report: Report, kind: str, prop: str, words: dict[str, Any]) -> str | None:
    """Why the tests of one property can never hold, if they cannot."""
    base = report.names.base
    lever = base.levers.get(prop) if kind == "now" else None
    spec = base.vocabulary.kinds[kind][prop]
    possible: Sequence[Any] | None = spec.one_of
    low = high = None
    if lever is not None and lever.type == "number":
        low, high = lever.bounds
    elif spec.type == "yes_no":
        possible = (True, False)
    reason = contradiction(words, possible, low, high)
    return f"no {kind}.{prop} can pass this: {reason}" if reason else None
