"""Why a rule did not fire: the nearest binding and the first condition that fails."""

from __future__ import annotations

from typing import Any

import pytest

from rungwright.engine import EngineError, FactError, Failure, Ref, Rule, Template, Test, Trace, Tracer, compile_rules

from .small import criterion, has, no, rule, schema, section, stages


def _trace(one: Rule, *facts: dict[str, Any]) -> Trace:
    return Tracer(stages, schema, [one]).trace(one.id, facts)


def test_a_rule_that_fires_has_no_failure() -> None:
    one = rule(has("section", "s", ("grade", ">", 3)), no("criterion"))
    facts = [section(grade=2), section(grade=4), section(grade=5)]
    trace = _trace(one, *facts)
    assert trace == Trace("r", {"s": facts[1]}, satisfied=3, conditions=3)
    assert trace.fired


def test_no_fact_of_the_kind() -> None:
    one = rule(has("section", "s", ("grade", ">", 3)), has("criterion", "c", ("share", "<", 0.5)))
    assert _trace(one) == Trace("r", {}, 0, 4, Failure("no_fact", 0))
    assert _trace(one, criterion(share=0.1)).failure == Failure("no_fact", 0)
    given = section(grade=4)
    assert _trace(one, given) == Trace("r", {"s": given}, 2, 4, Failure("no_fact", 1))


def test_no_fact_is_left_for_the_second_of_two_patterns() -> None:
    given = criterion(name="a")
    trace = _trace(rule(has("criterion", "c"), has("criterion", "d")), given)
    assert trace == Trace("r", {"c": given}, 1, 2, Failure("no_fact", 1))


def test_the_first_test_that_fails_and_the_fact_that_fails_it() -> None:
    one = rule(has("section", "s", ("grade", ">=", 3), ("minutes", ">=", 45), ("wet", "==", False)))
    given = section(grade=4, minutes=40, wet=True)
    trace = _trace(one, given)
    assert trace == Trace("r", {}, 2, 4, Failure("test", 0, Test("minutes", ">=", 45), given))
    assert not trace.fired


def test_a_missing_property_fails_its_test() -> None:
    given = section(label="x")
    failure = Failure("test", 0, Test("grade", "exists"), given)
    assert _trace(rule(has("section", "s", ("grade", "exists"))), given).failure == failure


def test_of_several_facts_the_one_that_passes_most_tests_in_order_is_told() -> None:
    one = rule(has("criterion", "c", ("share", "<", 0.5), ("grade", ">", 3), ("weak", "==", True)))
    far, near = criterion(share=0.9, grade=9, weak=True), criterion(share=0.1, grade=4, weak=False)
    tie = criterion(share=0.2, grade=4, weak=False)
    for facts in ([far, near, tie], [near, far, tie]):
        assert _trace(one, *facts).failure == Failure("test", 0, Test("weak", "==", True), near)


def test_of_several_bindings_the_nearest_is_told() -> None:
    one = rule(has("section", "s"), has("criterion", "c", ("grade", "==", Ref("s", "grade")), ("share", "<", 0.5)))
    facts = [section(grade=1), section(grade=2), criterion(grade=2, share=0.7)]
    trace = _trace(one, *facts)
    assert trace == Trace("r", {"s": facts[1]}, 3, 4, Failure("test", 1, Test("share", "<", 0.5), facts[2]))


def test_a_negated_pattern_names_the_fact_that_blocks_it() -> None:
    one = rule(has("section", "s"), no("finding"), no("criterion", ("grade", ">", Ref("s", "grade"))))
    facts = [section(grade=3), criterion(grade=3), criterion(grade=4), criterion(grade=5)]
    assert _trace(one, *facts) == Trace("r", {"s": facts[0]}, 2, 3, Failure("blocked", 2, fact=facts[2]))


def test_a_negated_pattern_is_judged_after_the_positive_ones_wherever_it_stands() -> None:
    one = rule(no("criterion", ("weak", "==", True)), has("criterion", "c", ("share", "<", 0.5)))
    weak, strong = criterion(weak=True, share=0.1), criterion(weak=False, share=0.7)
    assert _trace(one, weak, strong).fired
    blocked = _trace(one, weak, criterion(weak=True, share=0.2))
    assert blocked.failure == Failure("blocked", 0, fact=criterion(weak=True, share=0.2))
    assert _trace(one, strong).failure == Failure("test", 1, Test("share", "<", 0.5), strong)


def test_a_negated_pattern_that_refers_to_what_is_missing() -> None:
    test = Test("grade", ">", Ref("s", "grade"))
    one = rule(has("section", "s"), no("criterion", ("weak", "==", True), ("grade", ">", Ref("s", "grade"))))
    given = section(label="no grade")
    assert _trace(one, given) == Trace("r", {"s": given}, 1, 2, Failure("no_reference", 1, test, given))


def test_a_binding_whose_negation_is_blocked_gives_way_to_one_that_fires() -> None:
    one = rule(has("section", "s"), no("criterion", ("grade", "==", Ref("s", "grade"))))
    facts = [section(grade=1), section(grade=2), criterion(grade=1)]
    assert _trace(one, *facts).matched == {"s": facts[1]}


def test_every_rule_of_a_run_is_traced_against_what_its_stage_saw() -> None:
    find = rule(has("criterion", "c", ("share", "<", 0.5)), id="find", makes=[Template("finding", (("name", "weak"),))])
    blind = rule(has("section", "s"), has("criterion", "c", ("share", ">", 0.9)), id="blind")
    move = rule(has("finding", "f", ("name", "==", "weak")), no("section"), id="move", stage="second")
    late = rule(has("candidate", "m"), id="late", stage="third")
    rules = [move, find, late, blind]
    facts = [section(grade=1), criterion(share=0.2)]
    with compile_rules(stages, schema, rules, "plain") as program:
        firings = program.run(facts)
    traces = Tracer(stages, schema, rules).trace_run(facts, firings)
    assert [(trace.rule, trace.failure) for trace in traces] == [
        ("find", None),
        ("blind", Failure("test", 1, Test("share", ">", 0.9), facts[1])),
        ("move", Failure("blocked", 1, fact=facts[0])),
        ("late", Failure("no_fact", 0)),
    ]
    assert traces[2].matched == {"f": {"kind": "finding", "name": "weak"}}


def test_what_cannot_be_traced_is_refused() -> None:
    tracer = Tracer(stages, schema, [rule(*(has("criterion", f"c{number}") for number in range(3)))])
    with pytest.raises(KeyError):
        tracer.trace("other", [])
    with pytest.raises(FactError):
        tracer.trace("r", [criterion(grade="5")])
    with pytest.raises(EngineError, match="too many fact combinations"):
        tracer.trace("r", [criterion(grade=number) for number in range(40)])
