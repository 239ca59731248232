"""Mistakes that only show when the parts of a rule base are seen together."""

from __future__ import annotations

from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.checks.cases import check_cases
from rungwright.rulebase.checks.catalogue import check_catalogue
from rungwright.rulebase.checks.holds import check_holds
from rungwright.rulebase.checks.ladders import check_ladders
from rungwright.rulebase.checks.names import Names
from rungwright.rulebase.checks.patterns import check_patterns
from rungwright.rulebase.checks.references import check_references
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.checks.shape import check_shape
from rungwright.rulebase.checks.sheets import check_sheets
from rungwright.rulebase.checks.sources import unused_sources
from rungwright.rulebase.checks.texts import check_texts
from rungwright.rulebase.checks.verbs import check_verb
from rungwright.rulebase.problems import Problem


def check(base: RuleBase) -> list[Problem]:
    """Every mistake, in no order."""
    names = Names(base)
    problems = [*check_references(base, names), *check_catalogue(base), *check_holds(base)]
    problems += [*check_ladders(base), *check_sheets(base), *unused_sources(base)]
    for rule in base.rules.values():
        report = Report(rule, base.files[rule.id], names)
        for look in (check_patterns, check_verb, check_texts, check_cases, check_shape):
            look(report)
        problems += report.problems
    return problems
