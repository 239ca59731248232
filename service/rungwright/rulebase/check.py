"""Mistakes that only show when the parts of a rule base are seen together."""

from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import Problem


def check(base: RuleBase) -> list[Problem]:
    return []
