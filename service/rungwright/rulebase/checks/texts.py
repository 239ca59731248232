"""Reasons and warnings: every slot is filled for sure, quotes what made the rule fire, and betrays no support."""

from __future__ import annotations

import re

from rungwright.domain.lever import LeverKind
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.reason import FORMATTERS, NUMBER_FORMATTERS, SLOT, Slot, slots
from rungwright.rulebase.vocabulary import is_private

_SHARE = re.compile(r"%|\b(shares?|percent|percentages?|per cent)\b", re.IGNORECASE)
_MOVE = ("from", "to")
_CRITERIA = (("criterion", "name"), ("finding", "about"))
"""Properties that hold the name of a criterion."""


def check_texts(report: Report) -> None:
    rule = report.rule
    if rule.because is not None:
        found = _check_template(report, ("because",), rule.because)
        if rule.propose:
            _check_grounds(report, rule.because, found)
    if rule.warn is not None:
        _check_template(report, ("warn",), rule.warn)
    if rule.ask is not None:
        for i, question in enumerate(rule.ask.questions):
            if "{" in question or "}" in question:
                report.add(("ask", "questions", i), "a question quotes no facts: groups read it, so leave { and } out")
            _check_share(report, ("ask", "questions", i), question)


def _check_share(report: Report, at: tuple, text: str) -> None:
    if match := _SHARE.search(text):
        report.add(at, f"a text counts groups and never says {match[0]!r}")


def _check_template(report: Report, at: tuple, template: str) -> list[Slot]:
    if re.search(r"[{}]", SLOT.sub("", template)):
        report.add(at, "a { or } has no partner; a slot is {name.property}")
    _check_share(report, at, SLOT.sub("", template))
    found = list(slots(template))
    for slot in found:
        report.add(at, _slot_mistake(report, at, slot))
    return found


def _slot_mistake(report: Report, at: tuple, slot: Slot) -> str | None:
    rule, names = report.rule, report.names
    if slot.prop is None:
        if slot.alias in _MOVE and rule.propose and at == ("because",) and slot.formatter is None:
            return None
        if slot.alias in _MOVE:
            return f"{{{slot.alias}}} stands, with no formatter, only in the reason of a rule that proposes"
        return f"{{{slot.alias}}} is no slot; write {{name.property}}, {{from}} or {{to}}"
    if slot.alias not in rule.aliases:
        return f"{slot.alias!r} is no name of a condition in `when`{nearest(slot.alias, rule.aliases)}"
    kind = rule.aliases[slot.alias]
    if kind not in names.base.vocabulary.kinds:
        return None  # told where the condition stands
    if mistake := names.property_mistake(kind, slot.prop):
        return mistake
    quoted = f"{slot.alias}.{slot.prop}"
    if is_private(slot.prop):
        return f"{quoted} is about a support, which no text may show; say: the access needs you set"
    spec = names.base.vocabulary.kinds[kind][slot.prop]
    if spec.unit == "share":
        return f"{quoted} is a share; quote groups, such as passed and of"
    pattern = rule.when[list(rule.aliases).index(slot.alias)]
    words = pattern.tests.get(slot.prop, {})
    if "absent" in words:
        return f"{quoted} is missing when the rule fires"
    if spec.may_be_missing and not words:
        return f"{quoted} may be missing when the rule fires; test it, for example {slot.prop}: {{present: true}}"
    if slot.formatter == "met" and (kind, slot.prop) not in _CRITERIA:
        return f"met says what groups did about a criterion; {quoted} names none"
    return _formatter_mistake(quoted, spec.type, slot)


def _formatter_mistake(quoted: str, type_: str, slot: Slot) -> str | None:
    if slot.formatter is None:
        return None
    if slot.formatter not in FORMATTERS:
        return f"there is no formatter {slot.formatter!r}{nearest(slot.formatter, FORMATTERS)}"
    if slot.formatter == "count" and len(slot.arguments) != 2:
        return "count takes the noun for one and for several: {name.property|count:group:groups}"
    if slot.formatter != "count" and slot.arguments:
        return f"{slot.formatter} takes nothing after it"
    needed = "number" if slot.formatter in NUMBER_FORMATTERS else "word"
    return None if type_ == needed else f"{slot.formatter} says a {needed}, and {quoted} is a {type_}"


def _check_grounds(report: Report, because: str, found: list[Slot]) -> None:
    """An adjust rule's reason quotes what made it fire, and has no number of its own."""
    rule = report.rule
    lever = report.names.base.levers.get(rule.propose.lever)
    if lever is not None and lever.kind == LeverKind.ACCESS:
        return  # what an access rule tests about supports is told nowhere
    bare = SLOT.sub("", because)
    if match := re.search(r"\d+", bare):
        report.add(("because",), f"{match[0]!r} comes from no fact: quote one, or write the number as a word")
    # The setting before the move is a fact of `when` too, where the rule tests it.
    lever_tested = any(p.kind == "now" and rule.propose.lever in p.tests for p in rule.when)
    if any(slot.prop or (lever_tested and slot.alias == "from") for slot in found):
        return
    report.add(("because",), "the reason quotes nothing of `when`; quote the fact that makes the rule fire")
