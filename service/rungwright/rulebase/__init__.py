"""The rule base: read, checked, compiled, explained, tested."""

from rungwright.rulebase.base import RuleBase, default_folder, load_rule_base
from rungwright.rulebase.case_spec import Move
from rungwright.rulebase.cases import CaseResult, run_cases
from rungwright.rulebase.compile import CompiledRules, Considered, RuleFiring
from rungwright.rulebase.gate import Survivor, gate
from rungwright.rulebase.problems import Problem, RuleBaseError
from rungwright.rulebase.reason import Quoted, Rendered
from rungwright.rulebase.rule import Rule

__all__ = [
    "CaseResult",
    "CompiledRules",
    "Considered",
    "Move",
    "Problem",
    "Quoted",
    "Rendered",
    "Rule",
    "RuleBase",
    "RuleBaseError",
    "RuleFiring",
    "Survivor",
    "default_folder",
    "gate",
    "load_rule_base",
    "run_cases",
]
