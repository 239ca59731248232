"""The cases that rules carry, and the gate that moves their parameters."""

from __future__ import annotations

import pytest

from rungwright.engine import available
from rungwright.rulebase import gate, load_rule_base, run_cases
from tests.rulebase.conftest import edit

ENGINES = [name for name, there in available().items() if there is True]


@pytest.mark.parametrize("engine", ENGINES)
def test_every_case_of_the_small_rule_base_passes(small, engine):
    results = run_cases(small, engine)
    assert [r for r in results if not r.passed] == []
    assert len(results) == sum(1 + len(rule.cases.others) for rule in small.rules.values())


@pytest.mark.parametrize(
    ("old", "new", "case", "detail"),
    [
        ("says: The youngest builders show", "says: The youngest show", "fires", "it says 'The youngest builders show"),
        ("      - section: {band: K-2}", "      - section: {band: 3-5}", "fires", "it does not fire"),
        ("set: {section.band: 3-5}", "set: {section.direction: none}", "others[0] near_miss", "it fires"),
    ],
)
def test_a_case_that_is_wrong_says_so(copy, old, new, case, detail):
    edit(copy / "limit/no_tester_in_k_2.yaml", old, new)
    wrong = [r for r in run_cases(load_rule_base(copy), "plain") if not r.passed]
    assert wrong[0].rule == "limit/no_tester_in_k_2"
    assert wrong[0].case == case
    assert wrong[0].detail.startswith(detail)


def test_a_rule_is_tried_by_itself(small):
    """What derive rules would find from the facts of a case is not there unless the case gives it."""
    spot = small.rules["adjust/load/second_spot"]
    assert all(r.passed for r in run_cases(small, "plain", [spot]))


def test_no_parameter_can_move_unnoticed(small):
    assert gate(small) == []


def test_the_gate_tells_a_parameter_that_no_case_holds(copy):
    edit(copy / "derive/near_miss.yaml", "one_short_share: 0.34}, fires: no", "one_short_share: 0.2}, fires: no")
    edit(copy / "derive/near_miss.yaml", "one_short_share: 0.3}, fires: no", "one_short_share: 0.25}, fires: no")
    [survivor] = gate(load_rule_base(copy))
    assert (survivor.rule, survivor.parameter, survivor.moved_to) == ("derive/near_miss", "part", 0.3)
