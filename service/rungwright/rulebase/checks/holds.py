"""A proposal that another rule always holds would never be made."""

from __future__ import annotations

from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import Problem
from rungwright.rulebase.rule import PatternSpec, Rule


def check_holds(base: RuleBase) -> list[Problem]:
    """Proposals in a direction in which a rule whose conditions are among their own holds the lever."""
    holding = [rule for rule in base.rules.values() if rule.hold]
    problems = []
    for rule in base.rules.values():
        for held_by in holding:
            if rule.propose and _always_holds(held_by, rule):
                message = f"{held_by.id} holds {rule.propose.lever} whenever this rule fires, so it can never be made"
                problems.append(base.files[rule.id].problem(("propose", "lever"), message))
    return problems


def _always_holds(held_by: Rule, rule: Rule) -> bool:
    if rule.propose.lever not in held_by.hold.levers or held_by.unless:
        return False
    if held_by.families is not None and not set(rule.families or ("",)) <= set(held_by.families):
        return False
    direction = {"direction": {"is": held_by.hold.towards}}
    one_way = any(_implies(p, PatternSpec(kind="section", alias=None, tests=direction)) for p in rule.when)
    return one_way and all(any(_implies(p, needed) for p in rule.when) for needed in held_by.when)


def _implies(pattern: PatternSpec, needed: PatternSpec) -> bool:
    """Whether each test of `needed` stands in `pattern` too."""
    return pattern.kind == needed.kind and all(
        word in pattern.tests.get(prop, {}) and pattern.tests[prop][word] == value
        for prop, words in needed.tests.items()
        for word, value in words.items()
    )
