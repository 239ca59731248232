"""The cases that each rule carries, run on an engine."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from dataclasses import dataclass

from rungwright.engine import Fact, Program, compile_rules
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.case_spec import OtherCase
from rungwright.rulebase.compile import RuleFiring
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.variants import variants


@dataclass(frozen=True)
class CaseResult:
    rule: str
    case: str
    passed: bool
    detail: str = ""


def facts_of(entries: Iterable[dict[str, dict]]) -> list[dict]:
    return [{"kind": kind, **props} for entry in entries for kind, props in entry.items()]


def _address(facts: list[dict], address: str) -> tuple[dict, str | None]:
    """`criterion#2.passed` -> the second criterion fact and `passed`. Raises ValueError where there is none."""
    target, _, prop = address.partition(".")
    kind, _, place = target.partition("#")
    found = [f for f in facts if f["kind"] == kind]
    index = int(place or 1) - 1
    if not 0 <= index < len(found):
        raise ValueError(f"the case has no fact {target!r}")
    return found[index], prop or None


def changed(rule: Rule, case: OtherCase) -> list[Fact]:
    """The facts of a case: those of the case that fires, with its changes. Raises ValueError on a wrong address."""
    facts = copy.deepcopy(facts_of(rule.cases.fires.facts))
    for address, value in case.set.items():
        fact, prop = _address(facts, address)
        if prop is None:
            raise ValueError(f"{address!r} names no property")
        fact[prop] = value
    for address in case.drop:
        fact, prop = _address(facts, address)
        if prop not in fact:
            raise ValueError(f"the case has no {address!r} to drop")
        del fact[prop]
    for address in case.remove:
        fact, _ = _address(facts, address)
        facts.remove(fact)
    return facts + facts_of(case.add)


def run_rule_cases(base: RuleBase, rule: Rule, program: Program) -> list[CaseResult]:
    """Each case of one rule; `program` holds at least this rule's stage rules."""
    out = []
    firing = _firing(base, rule, program, facts_of(rule.cases.fires.facts))
    said = ""
    if firing and rule.because:
        said = firing.because(move=rule.cases.fires.move).text
    if firing is None:
        out.append(CaseResult(rule.id, "fires", False, "it does not fire"))
    elif rule.cases.fires.gives is not None and rule.cases.fires.gives != rule.gives:
        out.append(CaseResult(rule.id, "fires", False, f"it gives {rule.gives!r}, not {rule.cases.fires.gives!r}"))
    elif rule.because and said != rule.cases.fires.says:
        out.append(CaseResult(rule.id, "fires", False, f"it says {said!r}, not {rule.cases.fires.says!r}"))
    else:
        out.append(CaseResult(rule.id, "fires", True))
    for i, case in enumerate(rule.cases.others):
        name = f"others[{i}] {case.label}"
        try:
            fired = _firing(base, rule, program, changed(rule, case)) is not None
        except ValueError as error:
            out.append(CaseResult(rule.id, name, False, str(error)))
            continue
        word = "fires" if fired else "does not fire"
        out.append(CaseResult(rule.id, name, fired == case.fires, "" if fired == case.fires else f"it {word}"))
    return out


def _firing(base: RuleBase, rule: Rule, program: Program, facts: list[Fact]) -> RuleFiring | None:
    name = rule.id.replace("/", ".") + ".v"
    for firing in program.run(facts):
        if firing.rule.startswith(name) and firing.rule[len(name) :].isdigit():
            return RuleFiring(rule, firing.matched, firing.made, base)
    return None


def run_cases(base: RuleBase, engine: str = "auto", rules: Iterable[Rule] | None = None) -> list[CaseResult]:
    """The cases of every rule, each rule by itself: what other rules find is given as facts."""
    out = []
    for rule in rules if rules is not None else base.rules.values():
        with compile_rules([rule.stage], base.vocabulary.schema, variants(rule), engine) as program:
            out += run_rule_cases(base, rule, program)
    return out
