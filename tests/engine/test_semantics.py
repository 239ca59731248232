"""What a rule means, the same in every engine, by worked example."""

from __future__ import annotations

from typing import Any

import pytest

from rungwright.engine import Ref, Template

from .small import criterion, has, no, rule, run, section


def _labels(firings: Any, alias: str = "c") -> list[Any]:
    return [firing.matched[alias].get("name") for firing in firings]


@pytest.mark.parametrize(
    ("op", "value", "fires"),
    [
        ("==", 5, True),
        ("==", 5.0, True),
        ("==", 4, False),
        ("!=", 4, True),
        ("!=", 5, False),
        ("<", 5, False),
        ("<", 5.0001, True),
        ("<=", 5, True),
        (">", 5, False),
        (">", 4.9999, True),
        (">=", 5, True),
        (">=", 5.0001, False),
        ("exists", None, True),
        ("missing", None, False),
    ],
)
@pytest.mark.parametrize("given", [5, 5.0])
def test_each_comparison_of_a_number(engine: str, given: float, op: str, value: float | None, fires: bool) -> None:
    firings = run(engine, rule(has("section", "s", ("grade", op, value))), [section(grade=given)])
    assert len(firings) == fires


@pytest.mark.parametrize(
    ("op", "value", "fires"),
    [("==", True, True), ("==", False, False), ("!=", True, False), ("!=", False, True), ("exists", None, True)],
)
def test_each_comparison_of_a_yes_no(engine: str, op: str, value: bool | None, fires: bool) -> None:
    assert len(run(engine, rule(has("section", "s", ("wet", op, value))), [section(wet=True)])) == fires


@pytest.mark.parametrize("absent", [{}, {"grade": None}])
@pytest.mark.parametrize("op", ["==", "!=", "<", "<=", ">", ">=", "exists"])
def test_a_comparison_with_a_missing_property_is_false(engine: str, absent: dict[str, None], op: str) -> None:
    one = rule(has("section", "s", ("grade", op, None if op == "exists" else 5)))
    assert run(engine, one, [section(label="x", **absent)]) == []


def test_missing_holds_for_none_and_for_absent(engine: str) -> None:
    facts = [section(label="a"), section(label="b", grade=None), section(label="c", grade=0)]
    firings = run(engine, rule(has("section", "s", ("grade", "missing"))), facts)
    assert [firing.matched["s"]["label"] for firing in firings] == ["a", "b"]


def test_every_test_of_a_pattern_must_hold(engine: str) -> None:
    one = rule(has("section", "s", ("grade", ">=", 3), ("grade", "<=", 5), ("wet", "==", False), ("label", "!=", "b")))
    facts = [
        section(label="a", grade=4, wet=False),
        section(label="b", grade=4, wet=False),
        section(label="c", grade=6, wet=False),
        section(label="d", grade=4, wet=True),
        section(label="e", grade=4),
    ]
    assert [firing.matched["s"]["label"] for firing in run(engine, one, facts)] == ["a"]


def test_tests_that_contradict_each_other_never_match(engine: str) -> None:
    rules = [
        rule(has("section", "s", ("grade", "==", 3), ("grade", "==", 4)), id="two values"),
        rule(has("section", "s", ("grade", "missing"), ("grade", "exists")), id="there and not there"),
        rule(has("section", "s", ("wet", "==", True), ("wet", "!=", True)), id="yes and not yes"),
        rule(has("section", "s"), no("section", ("wet", "==", True), ("wet", "==", False)), id="nothing blocks"),
    ]
    firings = run(engine, rules, [section(grade=3, wet=True), section(grade=4, wet=False)])
    assert {firing.rule for firing in firings} == {"nothing blocks"}


def test_a_join_compares_two_facts(engine: str) -> None:
    one = rule(has("section", "s"), has("criterion", "c", ("grade", "<=", Ref("s", "grade"))))
    facts = [section(grade=5), criterion(name="a", grade=4), criterion(name="b", grade=5), criterion(name="c", grade=6)]
    assert _labels(run(engine, one, facts)) == ["a", "b"]


def test_an_equality_join_sees_5_and_5_point_0_as_one_number(engine: str) -> None:
    one = rule(has("section", "s"), has("criterion", "c", ("grade", "==", Ref("s", "grade"))))
    assert len(run(engine, one, [section(grade=5), criterion(grade=5.0), criterion(grade=5.00004)])) == 1
    assert len(run(engine, one, [section(grade=2.5), criterion(grade=2.49996)])) == 1


@pytest.mark.parametrize("op", ["==", "!=", "<", "<=", ">", ">="])
def test_a_join_with_a_missing_property_on_either_side_is_false(engine: str, op: str) -> None:
    one = rule(has("section", "s"), has("criterion", "c", ("grade", op, Ref("s", "grade"))))
    assert run(engine, one, [section(label="x"), criterion(grade=1)]) == []
    assert run(engine, one, [section(grade=1), criterion(name="x")]) == []


def test_a_false_last_join_only_means_no_match(engine: str) -> None:
    joins = [
        ("grade", "<=", Ref("s", "grade")),
        ("share", "==", Ref("s", "minutes")),
        ("name", "==", Ref("s", "label")),
    ]
    facts = [section(grade=5, minutes=40, label="x"), criterion(grade=4, share=40, name="y")]
    assert run(engine, rule(has("section", "s"), has("criterion", "c", *joins)), facts) == []
    assert run(engine, rule(has("section", "s"), no("criterion", *joins)), facts) != []


def test_one_fact_never_fills_two_patterns(engine: str) -> None:
    pair = rule(has("criterion", "c"), has("criterion", "d"))
    assert run(engine, pair, [criterion(name="a")]) == []
    firings = run(engine, pair, [criterion(name="a"), criterion(name="b")])
    assert [(f.matched["c"]["name"], f.matched["d"]["name"]) for f in firings] == [("a", "b"), ("b", "a")]


def test_a_negation_holds_when_no_fact_satisfies_it(engine: str) -> None:
    one = rule(has("section", "s"), no("criterion", ("share", "<", 0.5)))
    assert len(run(engine, one, [section(grade=1)])) == 1
    assert len(run(engine, one, [section(grade=1), criterion(share=0.5)])) == 1
    assert len(run(engine, one, [section(grade=1), criterion(name="no share")])) == 1
    assert run(engine, one, [section(grade=1), criterion(share=0.49)]) == []


def test_a_negation_does_not_depend_on_the_order_of_facts(engine: str) -> None:
    one = rule(has("section", "s"), no("criterion", ("grade", "==", Ref("s", "grade"))))
    facts = [section(grade=1), section(grade=2), criterion(grade=2)]
    for order in (facts, facts[::-1], [facts[2], facts[0], facts[1]]):
        assert [firing.matched["s"]["grade"] for firing in run(engine, one, order)] == [1]


def test_a_negation_leaves_aside_the_facts_that_the_rule_has_matched(engine: str) -> None:
    best = rule(has("criterion", "c"), no("criterion", ("share", ">=", Ref("c", "share"))))
    facts = [criterion(name="a", share=0.3), criterion(name="b", share=0.8), criterion(name="c", share=0.5)]
    assert _labels(run(engine, best, facts)) == ["b"]
    assert _labels(run(engine, best, [*facts, criterion(name="tie", share=0.8)])) == []


def test_a_negation_may_stand_before_a_positive_pattern(engine: str) -> None:
    one = rule(no("criterion", ("weak", "==", True)), has("criterion", "c"))
    assert _labels(run(engine, one, [criterion(name="a", weak=True)])) == ["a"]
    assert _labels(run(engine, one, [criterion(name="a", weak=True), criterion(name="b", weak=True)])) == []


def test_a_negation_that_refers_to_a_missing_property_stops_the_rule(engine: str) -> None:
    one = rule(has("section", "s"), no("criterion", ("grade", "==", Ref("s", "grade"))))
    assert run(engine, one, [section(label="no grade")]) == []
    assert run(engine, one, [section(label="no grade"), section(grade=3)])[0].matched == {"s": section(grade=3)}


@pytest.mark.parametrize(
    ("given", "constant", "equal"),
    [
        (0.1 + 0.2, 0.3, True),
        (1e-05, 0, True),
        (0.00004, 0, True),
        (0.0001, 0, False),
        (2.00004, 2, True),
        (2.00006, 2, False),
        (2.00006, 2.0001, True),
        (-0.0, 0, True),
        (-2.00004, -2, True),
        (99_999_999_999, 99_999_999_999, True),
        (99_999_999_999, 99_999_999_998.9999, False),
        (3_000_000_000, 3_000_000_000, True),
        (214_748.3648, 214_748.3648, True),
    ],
)
def test_numbers_are_compared_to_four_decimals(engine: str, given: float, constant: float, equal: bool) -> None:
    facts = [section(grade=given), criterion(grade=constant)]
    constant_test = rule(has("section", "s", ("grade", "==", constant)), id="constant")
    join_test = rule(has("section", "s"), has("criterion", "c", ("grade", "==", Ref("s", "grade"))), id="join")
    firings = run(engine, [constant_test, join_test], facts)
    assert [firing.rule for firing in firings] == ["constant", "join"] * equal


def test_facts_and_what_they_are_copied_into_keep_their_own_decimals(engine: str) -> None:
    makes = [Template("finding", (("grade", Ref("s", "grade")),))]
    (firing,) = run(engine, rule(has("section", "s"), makes=makes), [section(grade=0.1 + 0.2)])
    assert firing.matched["s"]["grade"] == 0.1 + 0.2
    assert firing.made == ({"kind": "finding", "grade": 0.1 + 0.2},)


awkward_words = (
    *("", " ", "x ", "true", "1", "null", "nil", "é漢", "😀", "it's", "tab\tnew\nline", "\x00", "x" * 400),
    *('a"b', "c\\d", "\\", '\\"', '{"k":1}', "],[", '"p0":{"id":"f1"', "$go", "(x)", "?v0", "~nil"),
)


@pytest.mark.parametrize("word", awkward_words)
def test_any_word_equals_itself_and_no_other(engine: str, word: str) -> None:
    facts = [criterion(name=word, share=0.1), criterion(name=f"{word[:-1]}_", share=0.2), section(label=word)]
    constant = rule(has("criterion", "c", ("name", "==", word)), id="constant")
    other = rule(has("criterion", "c", ("name", "!=", word)), id="other")
    join = rule(has("section", "s"), has("criterion", "c", ("name", "==", Ref("s", "label"))), id="join")
    firings = run(engine, [constant, other, join], facts)
    assert [(firing.rule, firing.matched["c"]) for firing in firings] == [
        ("constant", facts[0]),
        ("other", facts[1]),
        ("join", facts[0]),
    ]


def test_equal_facts_are_one_and_the_first_is_given_back(engine: str) -> None:
    first, again = section(grade=4), {"label": None, "grade": 4.00001, "kind": "section", "undeclared": [1]}
    (firing,) = run(engine, rule(has("section", "s")), [first, again])
    assert firing.matched["s"] is first


def test_facts_that_differ_only_in_what_no_rule_uses_are_two(engine: str) -> None:
    one = rule(has("section", "s", ("grade", "==", 4)))
    assert len(run(engine, one, [section(grade=4, label="a"), section(grade=4, label="b")])) == 2


def test_matched_facts_are_the_very_mappings_given(engine: str) -> None:
    given = section(grade=4, minutes=40, undeclared={"deep": None})
    (firing,) = run(engine, rule(has("section", "s", ("grade", "==", 4))), [given])
    assert firing.matched["s"] is given


def test_a_later_stage_reads_what_an_earlier_one_made(engine: str) -> None:
    find = rule(has("criterion", "c", ("share", "<", 0.5)), id="find", makes=[Template("finding", (("name", "weak"),))])
    move = rule(
        has("finding", "f", ("name", "==", "weak")),
        stage="second",
        id="move",
        makes=[Template("candidate", (("lever", Ref("f", "name")), ("steps", 1)))],
    )
    firings = run(engine, [move, find], [criterion(name="load", share=0.2)])
    assert [firing.rule for firing in firings] == ["find", "move"]
    assert firings[1].matched == {"f": {"kind": "finding", "name": "weak"}}
    assert firings[1].made == ({"kind": "candidate", "lever": "weak", "steps": 1},)


def test_made_lists_only_what_was_not_known(engine: str) -> None:
    finding = Template("finding", (("name", "weak"),))
    rules = [
        rule(has("criterion", "c"), id="one", makes=[finding, finding]),
        rule(has("criterion", "c"), id="two", makes=[finding]),
    ]
    firings = run(engine, rules, [criterion(name="a"), criterion(name="b")])
    assert [len(firing.made) for firing in firings] == [1, 0, 0, 0]
    given = {"kind": "finding", "name": "weak"}
    assert [firing.made for firing in run(engine, rules, [criterion(name="a"), given])] == [(), ()]


def test_a_copied_property_that_is_missing_is_made_as_none(engine: str) -> None:
    makes = [Template("finding", (("name", "x"), ("grade", Ref("s", "grade"))))]
    make = rule(has("section", "s"), id="make", makes=makes)
    read = rule(has("finding", "f", ("grade", "missing")), stage="second", id="read")
    firings = run(engine, [make, read], [section(label="no grade")])
    assert firings[0].made == ({"kind": "finding", "name": "x", "grade": None},)
    assert firings[1].rule == "read"


def test_firings_are_sorted_by_stage_rule_and_facts(engine: str) -> None:
    rules = [
        rule(has("section", "s"), stage="second", id="z"),
        rule(has("criterion", "c"), has("section", "s"), stage="first", id="y"),
        rule(has("criterion", "c"), stage="first", id="x"),
    ]
    facts = [section(grade=2), criterion(name="b"), section(grade=1), criterion(name="a")]
    assert [(f.rule, *(tuple(fact.values())[1] for fact in f.matched.values())) for f in run(engine, rules, facts)] == [
        ("y", "b", 2),
        ("y", "b", 1),
        ("y", "a", 2),
        ("y", "a", 1),
        ("x", "b"),
        ("x", "a"),
        ("z", 2),
        ("z", 1),
    ]


@pytest.mark.parametrize("facts", [[], [criterion(name="not read")]])
def test_no_fact_to_read_means_no_firing(engine: str, facts: list[Any]) -> None:
    assert run(engine, rule(has("section", "s")), facts) == []


def test_no_rules_means_no_firing(engine: str) -> None:
    assert run(engine, [], [section(grade=1)]) == []
