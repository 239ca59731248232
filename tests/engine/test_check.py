"""What a rule base may not hold: each mistake is refused with a message that says where it is."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from rungwright.engine import Pattern, Ref, Rule, RuleError, Template, Test, compile_rules
from rungwright.engine.check import MAX_JOINS, MAX_PATTERNS, MAX_TESTS, plan

from .small import has, no, rule, schema, stages

S = has("section", "s")


def _made(*values: tuple[str, Any], kind: str = "finding") -> Rule:
    return rule(S, makes=[Template(kind, values)])


@pytest.mark.parametrize(
    ("mistake", "message"),
    [
        (rule(S, id=""), "an id must not be empty"),
        (rule(S, stage="fourth"), "stage 'fourth' is not one of"),
        (rule(), "at least one of them not negated"),
        (rule(no("section")), "at least one of them not negated"),
        (rule(*(has("section", f"s{i}") for i in range(MAX_PATTERNS + 1))), f"1 to {MAX_PATTERNS} patterns"),
        (rule(has("section", "")), "alias '' must be given"),
        (rule(Pattern("section")), "alias None must be given"),
        (rule(S, S), "pattern 2 (section): alias 's' must be given, once"),
        (rule(S, Pattern("section", "n", negated=True)), "a negated pattern matches no fact and takes no alias"),
        (rule(has("setcion", "s")), "pattern 1 (setcion): the schema declares no such kind"),
        (rule(has("section", "s", ("grad", "==", 1))), "section declares no grad"),
        (rule(has("section", "s", ("kind", "==", "x"))), "section declares no kind"),
        (rule(has("section", "s", ("grade", "=", 1))), "the comparison is not one of"),
        (rule(has("section", "s", ("grade", "==", "1"))), "grade ==: '1': a number must be"),
        (rule(has("section", "s", ("grade", "==", True))), "a number must be"),
        (rule(has("section", "s", ("grade", "==", None))), "a number must be"),
        (rule(has("section", "s", ("grade", "==", math.nan))), "a number must be"),
        (rule(has("section", "s", ("grade", "<", math.inf))), "a number must be"),
        (rule(has("section", "s", ("grade", "<", 10**11))), "a number must be"),
        (rule(has("section", "s", ("label", "==", 1))), "a word must be a str"),
        (rule(has("section", "s", ("label", "==", "x" * 401))), "at most 400 characters"),
        (rule(has("section", "s", ("label", "==", "\ud800"))), "half of a surrogate pair"),
        (rule(has("section", "s", ("wet", "==", 1))), "a yes_no must be True or False"),
        (rule(has("section", "s", ("label", "<", "x"))), "only a number has an order, and label is a word"),
        (rule(has("section", "s", ("wet", ">=", True))), "only a number has an order, and wet is a yes_no"),
        (rule(has("section", "s", ("grade", "exists", 1))), "exists takes no value"),
        (rule(has("section", "s", ("grade", "missing", Ref("s", "grade")))), "missing takes no value"),
        (rule(has("section", "s", ("grade", "==", Ref("s", "minutes")))), "'s' is not the alias of an earlier pattern"),
        (rule(has("section", "s", ("grade", "==", Ref("c", "grade"))), has("criterion", "c")), "not the alias of an"),
        (rule(S, has("criterion", "c", ("grade", "==", Ref("s", "grad")))), "s.grad is not declared, and a number"),
        (rule(S, has("criterion", "c", ("grade", "==", Ref("s", "label")))), "s.label is word, and a number is needed"),
        (rule(S, no("criterion", ("grade", "==", Ref("t", "grade")))), "'t' is not the alias of an earlier pattern"),
        (rule(no("criterion", ("grade", "==", Ref("s", "grade"))), S), "'s' is not the alias of an earlier pattern"),
        (rule(has("section", "s", *[("grade", ">", i) for i in range(MAX_TESTS + 1)])), f"at most {MAX_TESTS}"),
        (
            rule(S, has("criterion", "c", *[("grade", ">", Ref("s", "grade"))] * (MAX_JOINS + 1))),
            f"at most {MAX_JOINS} are allowed",
        ),
        (_made(kind="fnding"), "makes fnding: the schema declares no such kind"),
        (_made(("nam", "x")), "it declares no nam"),
        (_made(("name", "x"), ("name", "y")), "a property is given twice"),
        (_made(("name", 1)), "makes finding, name: 1: a word must be"),
        (_made(("grade", None)), "a number must be"),
        (_made(("grade", Ref("s", "label"))), "s.label is word, and a number is needed"),
        (_made(("grade", Ref("c", "grade"))), "'c' is not the alias"),
    ],
)
def test_a_mistake_in_a_rule_is_refused(mistake: Rule, message: str) -> None:
    with pytest.raises(RuleError) as caught:
        plan(stages, schema, [mistake])
    assert message in str(caught.value)
    assert mistake.id in str(caught.value)


def test_two_rules_of_one_id_are_refused() -> None:
    with pytest.raises(RuleError, match="rule 'r': an id must not be empty or used twice"):
        plan(stages, schema, [rule(S), rule(S)])


def test_two_stages_of_one_name_are_refused() -> None:
    with pytest.raises(RuleError, match="a stage is named twice"):
        plan(("first", "first"), schema, [rule(S)])


@pytest.mark.parametrize(("makes_in", "reads_in"), [("first", "first"), ("second", "first"), ("third", "second")])
@pytest.mark.parametrize("negated", [False, True])
def test_a_stage_reads_no_kind_that_it_or_a_later_stage_makes(makes_in: str, reads_in: str, negated: bool) -> None:
    make = rule(S, id="make", stage=makes_in, makes=[Template("finding")])
    read = rule(S, no("finding") if negated else has("finding", "f"), id="read", stage=reads_in)
    message = f"rule read, pattern 2: stage {reads_in} cannot read finding, which rule make makes in stage {makes_in}"
    for rules in ([make, read], [read, make]):
        with pytest.raises(RuleError, match=message):
            plan(stages, schema, rules)


def test_the_last_stage_that_makes_a_kind_counts() -> None:
    makers = [rule(S, id=f"make {stage}", stage=stage, makes=[Template("finding")]) for stage in ("first", "second")]
    plan(stages, schema, [*makers, rule(has("finding", "f"), id="read", stage="third")])
    with pytest.raises(RuleError, match="which rule make second makes"):
        plan(stages, schema, [*makers, rule(has("finding", "f"), id="read", stage="second")])


@pytest.mark.parametrize(
    ("mistake", "message"),
    [
        ({"": {}}, "kind ''"),
        ({"a-b": {}}, "kind 'a-b'"),
        ({"$go": {}}, "kind '$go'"),
        ({"é": {}}, "kind 'é'"),
        ({"a": {"id": "word"}}, "kind a, property 'id'"),
        ({"a": {"sid": "word"}}, "id, kind, sid are reserved"),
        ({"a": {"kind": "word"}}, "property 'kind'"),
        ({"a": {"1st": "word"}}, "property '1st'"),
        ({"a": {"a b": "word"}}, "property 'a b'"),
        ({"a": {"$and": "word"}}, "property '$and'"),
        ({"a": {"name\n": "word"}}, "property"),
        ({"a": {"x": "string"}}, "type 'string' is not one of"),
        ({"a": {f"p{i}": "word" for i in range(251)}}, "251 properties, at most 250"),
        ({"a": {"declinate": "word"}, "b": {"macallums": "word"}}, "properties declinate and macallums"),
    ],
)
def test_a_mistake_in_the_schema_is_refused(mistake: Mapping[str, Mapping[str, Any]], message: str) -> None:
    with pytest.raises(RuleError) as caught:
        plan(stages, mistake, [])
    assert message in str(caught.value)


@pytest.mark.parametrize("rules", [[], [rule(S)]])
def test_what_is_allowed_is_compiled(engine: str, rules: Sequence[Rule]) -> None:
    compile_rules(stages, schema, rules, engine).close()


def test_every_engine_refuses_the_same(engine: str) -> None:
    with pytest.raises(RuleError):
        compile_rules(stages, schema, [rule(has("section", "s", ("grad", "==", 1)))], engine)


def test_a_test_keeps_its_place_when_patterns_are_sorted() -> None:
    mixed = rule(no("finding"), S, no("candidate"), has("criterion", "c", ("grade", ">", Ref("s", "grade"))))
    (planned,) = plan(stages, schema, [mixed])[0].rules
    assert [pattern.index for pattern in planned.positive] == [1, 3]
    assert [pattern.index for pattern in planned.negated] == [0, 2]
    assert planned.aliases == ("s", "c")
    assert planned.positive[0].referred == ("grade",)
    assert mixed.when[3].tests == (Test("grade", ">", Ref("s", "grade")),)
