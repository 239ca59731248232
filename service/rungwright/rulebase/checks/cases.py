"""Cases: facts that can be, changes that change something, and one case at least of each sort."""

from __future__ import annotations

from typing import Any

from rungwright.rulebase.case_spec import OtherCase
from rungwright.rulebase.checks.names import setting_mistake
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.parameter import has_parameter

_THRESHOLDS = ("at least", "at most", "above", "below", "between")


def check_cases(report: Report) -> None:
    fires = report.rule.cases.fires
    for i, entry in enumerate(fires.facts):
        _check_facts(report, ("cases", "fires", "facts", i), entry)
    _check_move(report)
    _check_gives(report)
    for i, case in enumerate(report.rule.cases.others):
        _check_other(report, ("cases", "others", i), case)
    _check_sorts(report)


def _check_facts(report: Report, at: tuple, entry: dict[str, dict[str, Any]]) -> None:
    for kind, props in entry.items():
        if report.add((*at, kind), report.names.kind_mistake(kind), key=True):
            continue
        for prop, value in props.items():
            _check_value(report, (*at, kind, prop), kind, prop, value)


def _check_value(report: Report, at: tuple, kind: str, prop: str, value: Any) -> None:
    if not report.add(at, report.names.property_mistake(kind, prop), key=True):
        report.add(at, report.names.value_mistake(kind, prop, value))


def _check_move(report: Report) -> None:
    rule, at = report.rule, ("cases", "fires")
    move = rule.cases.fires.move
    if (move is None) != (rule.propose is None):
        has_none = "a rule that proposes gives the `move` its reason speaks of; no other rule has one"
        report.add((*at, "move"), has_none, key=True)
    elif move is not None and rule.propose.lever in report.names.base.levers:
        lever = report.names.base.levers[rule.propose.lever]
        wrong = [
            report.add((*at, "move", end), setting_mistake(lever, value))
            for end, value in (("from", move.from_), ("to", move.to))
        ]
        if any(wrong):
            return
        if rule.propose.to is not None and move.to != rule.propose.to:
            report.add((*at, "move", "to"), f"the rule proposes {rule.propose.to!r}, not {move.to!r}")
        elif (
            rule.propose.steps
            and not 0 < abs(lever.position(move.to) - lever.position(move.from_)) <= rule.propose.steps
        ):
            report.add((*at, "move", "to"), f"{move.to!r} is not within the steps that the rule proposes")


def _check_gives(report: Report) -> None:
    """No case could tell that a parameter of the verb has moved, unless one says what the verb comes to."""
    rule, fires = report.rule, report.rule.cases.fires
    if fires.gives is None:
        if has_parameter(report.file.data[rule.verb]):
            report.add(
                ("cases", "fires"), f"a parameter stands in `{rule.verb}`: say what it comes to in `gives`", key=True
            )
    elif fires.gives != rule.gives:
        report.add(("cases", "fires", "gives"), f"`{rule.verb}` comes to {rule.gives!r}, not {fires.gives!r}")


def _check_other(report: Report, at: tuple, case: OtherCase) -> None:
    if case.near_miss is not None and case.fires:
        report.add((*at, "fires"), "a near miss does not fire; label a case that does `boundary`")
    counts: dict[str, int] = {}
    props: dict[tuple[str, int], set[str]] = {}
    for entry in report.rule.cases.fires.facts:
        for kind, values in entry.items():
            counts[kind] = counts.get(kind, 0) + 1
            props[kind, counts[kind]] = set(values)
    for address, value in case.set.items():
        there = (*at, "set", address)
        found = _fact(report, there, address, props, key=True)
        if found and report.names.base.vocabulary.kinds.get(found[0]):
            kind, _, prop = found
            _check_value(report, there, kind, prop, value)
    for i, address in enumerate(case.drop):
        there = (*at, "drop", i)
        found = _fact(report, there, address, props)
        if found and found[2] not in props[found[:2]]:
            report.add(there, f"the case that fires has no {address!r} to drop")
    for i, address in enumerate(case.remove):
        if "." in address:
            report.add((*at, "remove", i), f"{address!r}: remove takes a whole fact, drop a property of one")
        else:
            _fact(report, (*at, "remove", i), address + ".", props)
    for i, entry in enumerate(case.add):
        _check_facts(report, (*at, "add", i), entry)


def _fact(
    report: Report, at: tuple, address: str, props: dict[tuple[str, int], set[str]], *, key: bool = False
) -> tuple[str, int, str] | None:
    """kind, place among its kind and property of an address such as `criterion#2.passed`."""
    target, dot, prop = address.partition(".")
    kind, _, place = target.partition("#")
    number = int(place) if place.isdigit() else 1
    if not dot or (kind, number) not in props or (place and not place.isdigit()):
        there = ", ".join(k if n == 1 else f"{k}#{n}" for k, n in props)
        report.add(at, f"{target!r} is no fact of the case that fires; write kind.property, of {there}", key=key)
        return None
    return kind, number, prop


def _check_sorts(report: Report) -> None:
    rule = report.rule
    labels = {case.label for case in rule.cases.others}
    threshold = any(
        word in _THRESHOLDS for p in (*rule.when, *rule.unless) for words in p.tests.values() for word in words
    )
    needed = {
        "near_miss": "a rule has at least one near_miss: facts for which it only just does not fire",
        "missing_fact": "a rule has at least one missing_fact: what it does when a fact or a property is not known",
    }
    if threshold:
        needed["boundary"] = "a rule with a number to reach has at least one boundary: facts that just reach it"
    for label, message in needed.items():
        if label not in labels:
            report.add(("cases", "others"), message, key=True)
