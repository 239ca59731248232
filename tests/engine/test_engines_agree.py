"""Random rules and random facts: every engine answers as the oracle does, and the trace agrees with them."""

from __future__ import annotations

import pytest

from .agreement import check_base
from .random_rules import random_base

SESSIONS = 2000
A_BASE = 4
BASES = SESSIONS // A_BASE
A_CHUNK = 25


@pytest.mark.parametrize("first", range(0, BASES, A_CHUNK))
def test_engines_answer_as_the_oracle_does(every_engine: tuple[str, ...], first: int) -> None:
    fired = sum(check_base(seed, every_engine, A_BASE) for seed in range(first, first + A_CHUNK))
    assert fired > 100, "the random rules must fire often enough to prove something"


def test_the_random_rules_reach_what_the_form_allows() -> None:
    rules = [rule for seed in range(60) for rule in random_base(seed).rules]
    patterns = [pattern for rule in rules for pattern in rule.when]
    tests = [test for pattern in patterns for test in pattern.tests]
    assert {test.op for test in tests} == {"==", "!=", "<", "<=", ">", ">=", "exists", "missing"}
    assert {rule.stage for rule in rules} == {"derive", "adjust", "limit", "prompt"}
    assert any(pattern.kind == "finding" for pattern in patterns)
    assert any(rule.when[0].negated for rule in rules)
    assert {len(rule.makes) for rule in rules} == {0, 1, 2}
