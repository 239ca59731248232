"""How rules are written for durable-rules: every line that keeps it exact. Needs no engine."""

from __future__ import annotations

import json
from typing import Any

import pytest

from rungwright.engine import EngineError, Ref, Rule, durable_form
from rungwright.engine.check import plan
from rungwright.engine.schema import _fnv1a
from rungwright.engine.session import MAX_FACTS

from .small import has, no, rule, schema, stages


def _write(*rules: Rule, schema: Any = schema) -> list[durable_form.WrittenRule]:
    return [durable_form.write(planned) for planned in plan(stages, schema, rules)[0].rules]


def _text(one: Rule) -> list[Any]:
    return json.loads(durable_form.ruleset_text(_write(one)))["r0"]["all"]


def test_kind_then_equalities_then_other_tests_then_joins_with_the_last_one_twice() -> None:
    left = has("section", "s")
    joins = [("grade", "<", Ref("s", "grade")), ("share", "==", Ref("s", "minutes"))]
    tests = [*joins, ("grade", ">", 1), ("weak", "==", True), ("name", "missing"), ("name", "==", "x")]
    assert _text(rule(left, has("criterion", "c", *tests))) == [
        {"p0": {"$and": [{"kind": "section"}, {"$ex": {"grade": 1}}, {"$ex": {"minutes": 1}}]}},
        {
            "p1": {
                "$and": [
                    {"kind": "criterion"},
                    {"name": "x"},
                    {"weak": True},
                    {"$gt": {"grade": 10000}},
                    {"$nex": {"name": 1}},
                    {"$lt": {"grade": {"p0": "grade"}}},
                    {"share": {"p0": "minutes"}},
                    {"share": {"p0": "minutes"}},
                ]
            }
        },
    ]


def test_a_rule_with_a_negation_waits_for_the_last_fact() -> None:
    assert _text(rule(no("criterion"), has("section", "s"))) == [
        {"g": {"kind": "$go"}},
        {"p0": {"$and": [{"kind": "section"}]}},
        {"p1$not": {"$and": [{"kind": "criterion"}]}},
    ]


def test_integers_past_32_bits_are_written_as_doubles() -> None:
    tests = [("grade", "<", 214_748.3647), ("grade", ">", 214_748.3648), ("grade", "!=", -99_999_999_999.9999)]
    text = durable_form.ruleset_text(_write(rule(has("section", "s", *tests))))
    assert '{"grade": 2147483647}' in text
    assert '{"grade": 2147483648.0}' in text
    assert '{"grade": -999999999999999.0}' in text


def test_both_marker_rules_are_there_and_come_last() -> None:
    rules = json.loads(durable_form.ruleset_text(_write(rule(has("section", "s")))))
    assert rules["-init"] == {"pri": 65000, "all": [{"g": {"kind": "$init"}}]}
    assert rules["-go"] == {"pri": 65000, "all": [{"g": {"kind": "$go"}}]}
    assert rules["r0"]["pri"] == 0


def _parts(count: int, *tests: Any, negated: bool = False) -> list[int]:
    wide: Any = {"wide": {f"p{number}": "number" for number in range(count)}, "other": {}}
    patterns = [no("other")] * negated
    rules = [
        rule(has("wide", "w", *((f"p{number}", *test) for test in tests)), *patterns, id=str(number))
        for number in range(count)
    ]
    written = _write(*rules, schema=wide)
    parts = durable_form.split(written)
    assert [one for part in parts for one in part] == written
    return [len(part) for part in parts]


def test_a_ruleset_holds_no_more_conditions_than_one_fact_may_make_true() -> None:
    assert _parts(58, (">", 1)) == [58]
    assert _parts(120, (">", 1)) == [60, 60]
    assert _parts(124, (">", 1)) == [31, 31, 31, 31]


def test_a_test_for_a_missing_property_counts_like_any_other() -> None:
    assert max(_parts(128, ("missing",))) <= durable_form.MAX_STACK


def test_constants_of_one_property_count_once_but_not_without_end() -> None:
    words = [rule(has("section", "s", ("label", "==", f"word {number}")), id=str(number)) for number in range(399)]
    assert len(durable_form.split(_write(*words))) == 1
    more = [
        *words,
        *(rule(has("section", "s", ("label", "==", str(number))), id=f"more {number}") for number in range(2)),
    ]
    assert len(durable_form.split(_write(*more))) == 2


def test_a_ruleset_holds_no_more_rules_of_one_pattern_than_fit() -> None:
    same = [rule(has("section", "s", ("grade", "==", 1)), id=str(number)) for number in range(241)]
    assert len(durable_form.split(_write(*same[:240]))) == 1
    assert len(durable_form.split(_write(*same))) == 2
    waiting = [rule(has("section", "s", ("grade", "==", n)), no("criterion"), id=str(n)) for n in range(240)]
    assert len(durable_form.split(_write(*waiting[:239]))) == 1
    assert len(durable_form.split(_write(*waiting))) == 2


def test_a_join_is_shared_by_no_two_rules() -> None:
    joined = [
        rule(has("section", "s"), has("criterion", "c", ("grade", ">", Ref("s", "grade"))), id=str(number))
        for number in range(62)
    ]
    assert len(durable_form.split(_write(*joined[:60]))) == 1
    assert len(durable_form.split(_write(*joined))) == 2


def test_a_single_rule_that_does_not_fit_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable_form, "MAX_STACK", 1)
    tests = [("grade", ">", 1)], [("share", ">", 1)]
    with pytest.raises(EngineError, match="rule r: too many conditions for durable-rules"):
        durable_form.split(_write(rule(*(has("criterion", f"c{n}", *test) for n, test in enumerate(tests)))))


def test_no_two_ids_of_a_session_hash_alike() -> None:
    ids = ["in", "in2", "go", "s", "sid-s", *(f"f{place}" for place in range(MAX_FACTS))]
    assert len({_fnv1a(one) for one in ids}) == len(ids)
    assert _fnv1a("id") == 926444256, "as the C code has it"
