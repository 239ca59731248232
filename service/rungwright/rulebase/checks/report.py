"""The mistakes of one rule, each at its place in the rule's file."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.rulebase.checks.names import Names
from rungwright.rulebase.marked import Marked
from rungwright.rulebase.problems import Problem
from rungwright.rulebase.rule import Rule


class Report:
    """Collects what is wrong with `rule`."""

    def __init__(self, rule: Rule, file: Marked, names: Names) -> None:
        self.rule, self.file, self.names = rule, file, names
        self.problems: list[Problem] = []

    def add(self, at: Sequence[str | int], message: str | None, *, key: bool = False) -> bool:
        """Note a mistake, if there is one; `key` points at the key and not at its value. Whether there was one."""
        if message is not None:
            self.problems.append(self.file.problem(at, message, key=key))
        return message is not None
