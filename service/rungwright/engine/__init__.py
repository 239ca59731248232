"""Rules in a neutral form, run by any of several rule engines with one answer."""

from rungwright.engine.errors import EngineError, FactError, RuleError
from rungwright.engine.form import Fact, Firing, Pattern, Ref, Rule, Scalar, Schema, Template, Test
from rungwright.engine.port import Program, available, choose, compile_rules
from rungwright.engine.trace import Failure, Trace, Tracer

__all__ = [
    "EngineError",
    "Fact",
    "FactError",
    "Failure",
    "Firing",
    "Pattern",
    "Program",
    "Ref",
    "Rule",
    "RuleError",
    "Scalar",
    "Schema",
    "Template",
    "Test",
    "Trace",
    "Tracer",
    "available",
    "choose",
    "compile_rules",
]
