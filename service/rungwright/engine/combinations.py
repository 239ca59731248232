"""A cap on the combinations of facts that a stage may try, so that no set of facts can stall a run."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence

from rungwright.engine.check import PlannedPattern, PlannedRule
from rungwright.engine.errors import EngineError
from rungwright.engine.values import Known

MAX_RULE = 50_000
"""Combinations of facts that one rule may try."""
MAX_STAGE = 200_000
"""Combinations that the rules of one stage may try together."""


class CombinationCap:
    """Counts a rule's combinations as the facts that pass each positive pattern's equalities, multiplied."""

    def __init__(self, rules: Sequence[PlannedRule]) -> None:
        groups: dict[tuple[str, ...], list[PlannedRule]] = defaultdict(list)
        for rule in rules:
            groups[tuple(sorted(pattern.kind for pattern in rule.positive))].append(rule)
        self._groups = list(groups.items())

    def check(self, facts: Sequence[Known]) -> None:
        """Count by kind, which is fast and never too few; only if that is too many, count exactly.

        Raises:
            EngineError: too many combinations; the message names the rule that tries most.
        """
        count = Counter(fact.kind for fact in facts)
        products = [(math.prod(count[kind] for kind in kinds), rules) for kinds, rules in self._groups]
        if (
            max(product for product, _ in products) > MAX_RULE
            or sum(product * len(rules) for product, rules in products) > MAX_STAGE
        ):
            self._check_exactly(facts)

    def _check_exactly(self, facts: Sequence[Known]) -> None:
        tries = [
            (math.prod(_count(pattern, facts) for pattern in rule.positive), rule.rule.id)
            for _, rules in self._groups
            for rule in rules
        ]
        most, rule_id = max(tries)
        total = sum(count for count, _ in tries)
        if most > MAX_RULE or total > MAX_STAGE:
            raise EngineError(
                f"too many fact combinations: rule {rule_id} tries {most:,} (at most {MAX_RULE:,}) and its stage "
                f"{total:,} (at most {MAX_STAGE:,}); give fewer facts, or give the rule an equality"
            )


def _count(pattern: PlannedPattern, facts: Sequence[Known]) -> int:
    equal = [(test.prop, test.value) for test in pattern.tests if test.op == "==" and test.ref is None]
    return sum(
        fact.kind == pattern.kind and all(fact.values.get(prop) == value for prop, value in equal) for fact in facts
    )
