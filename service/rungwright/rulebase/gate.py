"""A gate stronger than coverage: moving any parameter by one step must make a case of its rule fail."""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.cases import run_cases
from rungwright.rulebase.marked import Marked
from rungwright.rulebase.reading import build_rule


@dataclass(frozen=True)
class Survivor:
    """A parameter that could move without any case noticing."""

    rule: str
    parameter: str
    moved_to: float


def gate(base: RuleBase, engine: str = "plain") -> list[Survivor]:
    """Only the moved rule is compiled again."""
    out = []
    for rule in base.rules.values():
        for name, parameter in rule.parameters.items():
            low, high = parameter.range
            for step in (-parameter.step, parameter.step):
                to = round(parameter.value + step, 6)
                to = int(to) if float(to).is_integer() and isinstance(parameter.value, int) else to
                if not low <= to <= high:
                    continue
                file = base.files[rule.id]
                moved = build_rule(rule.id, Marked(file.path, file.data, file.places, file.keys), {name: to})
                if moved is not None and all(r.passed for r in run_cases(base, engine, [moved])):
                    out.append(Survivor(rule.id, name, to))
    return out
