"""How a template is filled: units, labels, counts, and the evidence behind each number."""

from __future__ import annotations

import re

import pytest

from rungwright.rulebase import CompiledRules, Move
from rungwright.rulebase.reason import render
from rungwright.rulebase.words import say_setting

LOAD = {"kind": "criterion", "name": "load", "surplus_order": 1, "passed": 1, "of": 4}
MATCHED = {
    "section": {"kind": "section", "direction": "harder", "groups_last": 4},
    "load": LOAD,
    "now": {"kind": "now", "load_positions": 1},
}
MOVE = Move(**{"from": 1, "to": 2})


@pytest.mark.parametrize(
    ("lever", "value", "units", "said"),
    [
        ("load_positions", 1, "both", "1 spot"),
        ("load_positions", 2, "both", "2 spots"),
        ("load_place", "marked", "both", "a marked place"),
        ("base_tray", True, "both", "a tray for each build"),
        ("base_tray", False, "both", "no tray"),
        ("load_mass_g", 370, "both", "370 g (13 oz)"),
        ("load_mass_g", 370, "metric", "370 g"),
        ("load_mass_g", 370, "us", "13 oz"),
        ("joiner_length_cm", 80, "both", "80 cm (31½ in)"),
    ],
)
def test_a_setting_is_said_as_a_teacher_would(small, lever, value, units, said):
    assert say_setting(small.levers[lever], value, units) == said


@pytest.mark.parametrize(
    ("slot", "said"),
    [
        ("load.passed", "1"),
        ("load.passed|count:group:groups", "1 group"),
        ("load.of|count:group:groups", "4 groups"),
        ("load.name", "carrying the weight"),
        ("load.name|met", "carried the weight"),
        ("now.load_positions", "1 spot"),
        ("section.direction", "harder"),
        ("from", "1 spot"),
        ("to", "2 spots"),
    ],
)
def test_a_slot_is_filled(small, slot, said):
    rule = small.rules["adjust/load/second_spot"]
    assert render(small, rule, f"It is {{{slot}}}.", MATCHED, move=MOVE).text == f"It is {said}."


def test_the_evidence_names_fact_criterion_value_unit_and_meaning(small):
    rule = small.rules["adjust/load/second_spot"]
    rendered = render(small, rule, rule.because, MATCHED, move=MOVE)
    passed = rendered.evidence[0]
    assert (passed.fact, passed.property, passed.about, passed.value) == ("criterion", "passed", "load", 1)
    assert (passed.unit, passed.meaning) == ("groups", "groups that met it")
    numbers = {float(n) for n in re.findall(r"\d+", rendered.text)}
    assert numbers <= {e.value for e in rendered.evidence if not isinstance(e.value, str)} | {MOVE.from_, MOVE.to}


def test_a_reason_that_speaks_of_a_move_needs_one(small):
    rules = CompiledRules(small, "plain")
    facts = [MATCHED["section"], {**LOAD, "passed": 4}, MATCHED["now"]]
    firing = next(f for f in rules.infer(facts, "shelter") if f.rule.propose)
    with pytest.raises(ValueError, match="say which"):
        firing.because()
