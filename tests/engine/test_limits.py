"""Rule bases and facts up against the limits: answered alike by every engine, or refused in words."""

from __future__ import annotations

from typing import Any

import pytest

from rungwright.engine import EngineError, Ref, compile_rules
from rungwright.engine.check import MAX_JOINS, MAX_PATTERNS, MAX_TESTS
from rungwright.engine.combinations import MAX_RULE, MAX_STAGE
from rungwright.engine.schema import MAX_PROPERTIES
from rungwright.engine.session import MAX_FACTS

from .small import criterion, has, no, rule, run, schema, section, stages


def test_the_most_patterns(engine: str) -> None:
    patterns = [has("criterion", f"c{i}", ("grade", "==", i)) for i in range(MAX_PATTERNS - 1)]
    facts = [criterion(grade=i) for i in range(MAX_PATTERNS)]
    (firing,) = run(engine, rule(*patterns, no("section")), facts)
    assert len(firing.matched) == MAX_PATTERNS - 1
    (firing,) = run(engine, rule(*patterns, has("criterion", "last", ("grade", "==", MAX_PATTERNS - 1))), facts)
    assert len(firing.matched) == MAX_PATTERNS


@pytest.mark.parametrize("grade", [4, 6])
def test_the_most_joins(engine: str, grade: int) -> None:
    joins = [("grade", op, Ref("s", "grade")) for op in ("<=", "!=", "<", "<=") * (MAX_JOINS // 4)]
    assert len(joins) == MAX_JOINS
    facts = [section(grade=5), criterion(grade=grade)]
    assert len(run(engine, rule(has("section", "s"), has("criterion", "c", *joins)), facts)) == (grade < 5)
    assert len(run(engine, rule(has("section", "s"), no("criterion", *joins)), facts)) == (grade > 5)


def test_the_most_tests(engine: str) -> None:
    tests = [("grade", ">", number) for number in range(MAX_TESTS)]
    facts = [section(grade=MAX_TESTS - 1), section(grade=MAX_TESTS)]
    (firing,) = run(engine, rule(has("section", "s", *tests)), facts)
    assert firing.matched["s"] is facts[1]


def test_the_most_properties(engine: str) -> None:
    wide: Any = {"wide": {f"p{number}": "number" for number in range(MAX_PROPERTIES)}}
    rules = [rule(has("wide", "w", (prop, "==", 1)), id=prop) for prop in wide["wide"]]
    fact = {"kind": "wide", **{prop: number % 2 for number, prop in enumerate(wide["wide"])}}
    assert [firing.rule for firing in run(engine, rules, [fact], wide)] == [
        f"p{n}" for n in range(1, MAX_PROPERTIES, 2)
    ]


@pytest.mark.parametrize("op", [">", "!=", "missing"])
def test_many_conditions_that_one_fact_makes_true_at_once(engine: str, op: str) -> None:
    many: Any = {"many": {f"p{number}": "number" for number in range(130)}}
    rules = [rule(has("many", "m", (prop, op, None if op == "missing" else 1)), id=prop) for prop in many["many"]]
    fact = {"kind": "many"} | ({} if op == "missing" else dict.fromkeys(many["many"], 2))
    assert len(run(engine, rules, [fact], many)) == 130


@pytest.mark.parametrize("negated", [False, True])
def test_many_rules_of_one_pattern(engine: str, negated: bool) -> None:
    patterns = [has("section", "s", ("grade", "==", 1))] + [no("criterion")] * negated
    rules = [rule(*patterns, id=str(number)) for number in range(520)]
    firings = run(engine, rules, [section(grade=1)])
    assert [firing.rule for firing in firings] == [str(number) for number in range(520)]


def test_many_rules_that_join(engine: str) -> None:
    rules = [
        rule(has("section", "s"), has("criterion", "c", ("grade", ">", Ref("s", "grade"))), id=str(number))
        for number in range(150)
    ]
    assert len(run(engine, rules, [section(grade=1), criterion(grade=1), criterion(grade=2)])) == 150


def test_many_words_in_one_place(engine: str) -> None:
    rules = [rule(has("section", "s", ("label", "==", f"word {number}")), id=str(number)) for number in range(450)]
    firings = run(engine, rules, [section(label="word 7"), section(label="word 449"), section(label="word 450")])
    assert [firing.rule for firing in firings] == ["7", "449"]


def test_the_most_facts(engine: str) -> None:
    facts = [criterion(grade=number) for number in range(MAX_FACTS)]
    with compile_rules(
        stages, schema, [rule(has("criterion", "c", ("grade", ">=", MAX_FACTS - 2)))], engine
    ) as program:
        assert len(program.run([*facts, section(grade=1)])) == 2, "facts that no rule reads do not count"
        with pytest.raises(EngineError, match=f"stage first reads {MAX_FACTS + 1} facts, at most {MAX_FACTS}"):
            program.run([*facts, criterion(grade=-1)])
        assert len(program.run(facts)) == 2


def test_too_many_combinations_for_one_rule(engine: str) -> None:
    triple = [has("criterion", f"c{number}", ("share", ">", 0)) for number in range(3)]
    facts = [criterion(grade=number) for number in range(40)]
    with compile_rules(stages, schema, [rule(*triple, id="wide")], engine) as program:
        with pytest.raises(EngineError, match="too many fact combinations: rule wide tries 64,000"):
            program.run(facts)
        assert MAX_RULE >= 36**3
        assert program.run(facts[:36]) == []


def test_an_equality_keeps_combinations_down(engine: str) -> None:
    triple = [has("criterion", f"c{number}", ("grade", "==", number)) for number in range(3)]
    assert len(run(engine, rule(*triple), [criterion(grade=number) for number in range(40)])) == 1


def test_too_many_combinations_for_one_stage(engine: str) -> None:
    pair = [has("criterion", f"c{number}", ("share", ">", 0)) for number in range(2)]
    rules = [rule(*pair, id=str(number)) for number in range(MAX_STAGE // 2500 + 1)]
    with pytest.raises(EngineError, match=r"its stage 202,500 \(at most 200,000\)"):
        run(engine, rules, [criterion(grade=number) for number in range(50)])
