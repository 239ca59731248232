"""Rules in the neutral form, and what running them gives on every engine."""

from __future__ import annotations

import pytest

from rungwright.engine import Ref, Test, available
from rungwright.rulebase import CompiledRules, Move, load_rule_base
from rungwright.rulebase.variants import variants
from tests.rulebase.conftest import edit

ENGINES = [name for name, there in available().items() if there is True]
SPOT = "adjust/load/second_spot"
SECTION = {"kind": "section", "direction": "harder", "band": "K-2", "groups_last": 4}
NOW = {"kind": "now", "load_positions": 1, "base_tray": False}
LOAD = {"kind": "criterion", "name": "load", "surplus_order": 1, "passed": 4, "of": 4, "one_short_share": 0.1}
DRY = {"kind": "criterion", "name": "dry", "surplus_order": 2, "passed": 1, "of": 4, "one_short_share": 0.5}


@pytest.fixture(params=ENGINES)
def compiled(request, small):
    rules = CompiledRules(small, request.param)
    yield rules
    rules.close()


def test_each_choice_of_one_of_is_a_rule_of_its_own(small):
    one, two = variants(small.rules["derive/near_miss"])
    assert {one.when[0].tests[0], two.when[0].tests[0]} == {Test("name", "==", "load"), Test("name", "==", "dry")}
    assert one.makes[0].values == (("name", "near_miss"), ("about", Ref("c", "name")))


def test_infer_derives_proposes_and_limits(compiled):
    firings = compiled.infer([SECTION, NOW, LOAD, DRY], "shelter")
    assert [f.rule.id for f in firings] == [
        "derive/near_miss",
        SPOT,
        "limit/no_tester_in_k_2",
        "limit/weight_cap",
    ]
    assert firings[0].made == ({"kind": "finding", "name": "near_miss", "about": "dry"},)
    assert firings[1].matched["load"] is LOAD
    assert firings[1].because(move=Move(**{"from": 1, "to": 2})).text.startswith("4 of 4 groups carried the weight;")


def test_a_finding_of_the_run_holds_a_later_rule_off(compiled):
    firings = compiled.infer([SECTION, NOW, {**LOAD, "one_short_share": 0.6}], "shelter")
    assert SPOT not in [f.rule.id for f in firings]


def test_advise_reads_the_findings_it_is_given(compiled):
    finding = {"kind": "finding", "name": "near_miss", "about": "load"}
    firings = compiled.advise([finding, {"kind": "checks", "minutes_spare": -7}], "shelter")
    assert [f.rule.id for f in firings] == ["caution/short_time", "prompt/one_short"]
    assert firings[0].text(firings[0].rule.warn) == "The lesson lacks 7 minutes."


def test_rules_of_another_family_are_left_out(compiled):
    assert compiled.infer([SECTION, NOW, LOAD], "raft") == []


def test_a_rule_that_two_choices_fire_on_the_same_facts_fires_once(copy):
    edit(copy / "derive/near_miss.yaml", "one_short_share: {at least: $part}", "one_short_share: {one of: [$part]}")
    base = load_rule_base(copy)
    rules = CompiledRules(base, "plain")
    assert len(rules.infer([{**LOAD, "one_short_share": 0.35}], "shelter")) == 1


def test_the_order_of_facts_changes_no_answer(small):
    rules = CompiledRules(small, "plain")
    facts = [SECTION, NOW, LOAD, DRY]
    one = [(f.rule.id, dict(f.matched)) for f in rules.infer(facts, "shelter")]
    other = [(f.rule.id, dict(f.matched)) for f in rules.infer(facts[::-1], "shelter")]
    assert one == other


def test_every_rule_is_considered_and_says_why_it_did_not_fire(compiled):
    facts = [{**SECTION, "groups_last": 3}, NOW, LOAD]
    considered = {c.rule.id: c for c in compiled.considered(facts, "shelter")}
    assert set(considered) == {"derive/near_miss", SPOT, "limit/no_tester_in_k_2", "limit/weight_cap"}
    assert considered["limit/weight_cap"].fired
    assert not considered[SPOT].fired
    assert "groups in the last run" in considered[SPOT].text
    assert "3" in considered[SPOT].text and "4" in considered[SPOT].text
