"""Conditions seen together: rules that could never fire, or that would try more combinations than a run can bear."""

from __future__ import annotations

from math import prod

from rungwright.engine.check import MAX_PATTERNS, plan_rule
from rungwright.engine.errors import RuleError
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.rule import PatternSpec, Rule
from rungwright.rulebase.variants import on_matched_fact, variants
from rungwright.rulebase.vocabulary import SINGLE

MAX_VARIANTS = 64
"""Choices of `one of` words that one rule may come to; each is a rule of its own to an engine."""
MANY = 12
"""Kinds with this many facts or more are joined, or named, where a rule reads two of them."""


def check_shape(report: Report) -> None:
    """Last of all checks: a rule with no other mistake is compiled."""
    _check_single(report)
    _check_unless(report)
    _check_loose(report)
    _check_findings(report)
    if report.problems:
        return  # what is not right cannot be compiled
    rule = report.rule
    choices = _choices(rule)
    if choices > MAX_VARIANTS:
        message = f"the `one of` words make {choices} choices, at most {MAX_VARIANTS} are allowed"
        report.add(("when",), message, key=True)
    elif len(rule.when) + len(rule.unless) > MAX_PATTERNS:
        report.add(("when",), f"a rule has at most {MAX_PATTERNS} conditions, `unless` included", key=True)
    else:
        _check_compiled(report)


def _check_compiled(report: Report) -> None:
    """What is left is for the engine's own check to say; its words are about the compiled form."""
    for variant in variants(report.rule):
        try:
            plan_rule(report.names.base.vocabulary.schema, variant)
        except RuleError as error:
            report.add(("when",), f"no engine takes this rule: {error}", key=True)
            return


def _choices(rule: Rule) -> int:
    listed = [
        len(value)
        for pattern in rule.when
        for words in pattern.tests.values()
        for word, value in words.items()
        if word == "one of"
    ]
    # Each test of such an `unless` can fail by its opposite or by a missing property.
    past = [2 * len(p.tests) for p in rule.unless if on_matched_fact(rule, p)]
    return prod(listed) * prod(past)


def _check_single(report: Report) -> None:
    for i, kind in enumerate(report.rule.kinds):
        if kind in SINGLE and kind in report.rule.kinds[:i]:
            report.add(("when", i, kind), f"there is only one {kind} fact: put its tests in one condition", key=True)


def _check_unless(report: Report) -> None:
    for i, pattern in enumerate(report.rule.unless):
        if pattern.tests or pattern.kind not in SINGLE:
            continue
        report.add(("unless", i, pattern.kind), f"there is always a {pattern.kind} fact: give it a test", key=True)


def _check_loose(report: Report) -> None:
    most = report.names.base.vocabulary.most
    loose = [i for i, p in enumerate(report.rule.when) if most.get(p.kind, 0) >= MANY and not _narrow(p)]
    if len(loose) > 1:
        kinds = [report.rule.kinds[i] for i in loose[:2]]
        message = f"{kinds[0]} and {kinds[1]} may each be {MANY} facts or more: name one, or join it with `same as`"
        report.add(("when", loose[1], kinds[1]), message, key=True)


def _narrow(pattern: PatternSpec) -> bool:
    """Whether few facts pass: it is named, or joined to another."""
    named = {"is", "one of"} & set(pattern.tests.get("name", {}))
    return bool(named) or any("same as" in words for words in pattern.tests.values())


def _check_findings(report: Report) -> None:
    """A finding that is tested for what it is about must be made about that."""
    for part, patterns in (("when", report.rule.when), ("unless", report.rule.unless)):
        for i, pattern in enumerate(patterns):
            words = pattern.tests.get("about", {})
            name = pattern.tests.get("name", {}).get("is")
            if pattern.kind != "finding" or name is None or set(words) <= {"absent", "is not", "none of"}:
                continue
            about = report.names.found_about(name)
            wanted = [words["is"]] if "is" in words else words.get("one of", sorted(about))
            if not about & set(wanted):
                said = ", ".join(sorted(about)) or "nothing"
                report.add((part, i, "finding", "about"), f"{name} is found about {said} only", key=True)
