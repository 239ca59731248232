"""How a rule of the file becomes rules of an engine: `one of`, `unless`, ranges, presence, joins."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from rungwright.engine import Ref, Test, compile_rules
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.variants import variants

SCHEMA = {
    "section": {"band": "word", "minutes": "number", "mixed": "yes_no"},
    "criterion": {"name": "word", "passed": "number"},
    "finding": {"name": "word", "about": "word"},
}


def rule(when: list[dict[str, Any]], unless: list[dict[str, Any]] | None = None, find: dict | None = None) -> Rule:
    return Rule.model_validate(
        {
            "id": "derive/some_rule",
            "title": "some rule",
            "when": when,
            "unless": unless or [],
            "find": find or {"name": "found"},
            "basis": [{"source": "common_practice", "supports": "it"}],
            "cases": {
                "fires": {"facts": [{"section": {"band": "K-2"}}]},
                "others": [{"near_miss": "x", "set": {"section.band": "3-5"}, "fires": False}],
            },
        }
    )


def fires(one: Rule, *facts: dict[str, Any]) -> bool:
    with compile_rules(["derive"], SCHEMA, variants(one), "plain") as program:
        return bool(program.run(list(facts)))


def engine_tests(one: Rule) -> list[list[Test]]:
    return [list(pattern.tests) for variant in variants(one) for pattern in variant.when]


def test_one_of_makes_a_variant_a_word() -> None:
    one = rule([{"section": {"band": {"one of": ["K-2", "3-5"]}, "mixed": {"is": True}}}])
    assert [v.id for v in variants(one)] == ["derive.some_rule.v0", "derive.some_rule.v1"]
    assert engine_tests(one) == [
        [Test("band", "==", "K-2"), Test("mixed", "==", True)],
        [Test("band", "==", "3-5"), Test("mixed", "==", True)],
    ]


def test_two_one_of_make_every_pair() -> None:
    one = rule(
        [{"section": {"band": {"one of": ["K-2", "3-5"]}}}, {"criterion": {"name": {"one of": ["load", "dry"]}}}]
    )
    assert len(variants(one)) == 4


@pytest.mark.parametrize(
    ("word", "value", "tests"),
    [
        ("is", 3, [Test("minutes", "==", 3)]),
        ("is not", 3, [Test("minutes", "!=", 3)]),
        ("none of", [3, 4], [Test("minutes", "!=", 3), Test("minutes", "!=", 4)]),
        ("at least", 3, [Test("minutes", ">=", 3)]),
        ("at most", 3, [Test("minutes", "<=", 3)]),
        ("above", 3, [Test("minutes", ">", 3)]),
        ("below", 3, [Test("minutes", "<", 3)]),
        ("between", [3, 4], [Test("minutes", ">=", 3), Test("minutes", "<=", 4)]),
        ("present", True, [Test("minutes", "exists")]),
        ("absent", True, [Test("minutes", "missing")]),
    ],
)
def test_each_word(word: str, value: Any, tests: list[Test]) -> None:
    assert engine_tests(rule([{"section": {"minutes": {word: value}}}])) == [tests]


def test_same_as_is_a_reference() -> None:
    one = rule([{"criterion": {"name": {"present": True}}, "as": "c"}, {"finding": {"about": {"same as": "c.name"}}}])
    assert engine_tests(one)[1] == [Test("about", "==", Ref("c", "name"))]


@pytest.mark.parametrize("minutes, held", [(2, False), (3, True), (4, True), (5, False)])
def test_between_has_both_ends_in(minutes: int, held: bool) -> None:
    assert fires(rule([{"section": {"minutes": {"between": [3, 4]}}}]), {"kind": "section", "minutes": minutes}) is held


def test_what_is_found_takes_its_subject_from_a_condition() -> None:
    one = rule([{"criterion": {"name": {"present": True}}, "as": "c"}], find={"name": "found", "about": "c.name"})
    (template,) = variants(one)[0].makes
    assert template.values == (("name", "found"), ("about", Ref("c", "name")))


def test_unless_with_one_of_is_held_off_by_each_word() -> None:
    one = rule([{"section": {"mixed": {"is": True}}}], [{"criterion": {"name": {"one of": ["load", "dry"]}}}])
    assert len(variants(one)) == 1
    section = {"kind": "section", "mixed": True}
    assert fires(one, section)
    assert fires(one, section, {"kind": "criterion", "name": "entry"})
    assert not fires(one, section, {"kind": "criterion", "name": "load"})
    assert not fires(one, section, {"kind": "criterion", "name": "dry"})


@pytest.mark.parametrize(
    ("band", "minutes"), list(product(["K-2", "3-5", "6-8", None], [-12, -10, -9, None])), ids=lambda v: str(v)
)
def test_unless_on_the_section_that_is_matched(band: str | None, minutes: int | None) -> None:
    """An engine leaves matched facts aside, so this `unless` becomes tests; it means the same as on any other fact."""
    one = rule(
        [{"section": {"mixed": {"is": True}}}],
        [{"section": {"band": {"one of": ["K-2", "3-5"]}, "minutes": {"at most": -10}}}],
    )
    facts = {"kind": "section", "mixed": True, "band": band, "minutes": minutes}
    held_off = band in ("K-2", "3-5") and minutes is not None and minutes <= -10
    assert fires(one, facts) is not held_off


@pytest.mark.parametrize("minutes, held", [(2, True), (3, False), (4, False), (5, True), (None, True)])
def test_unless_between_on_the_section_that_is_matched(minutes: int | None, held: bool) -> None:
    one = rule([{"section": {"mixed": {"is": True}}}], [{"section": {"minutes": {"between": [3, 4]}}}])
    assert fires(one, {"kind": "section", "mixed": True, "minutes": minutes}) is held


@pytest.mark.parametrize("word, there", [("present", True), ("absent", False)])
def test_unless_present_on_the_section_that_is_matched(word: str, there: bool) -> None:
    one = rule([{"section": {"mixed": {"is": True}}}], [{"section": {"minutes": {word: True}}}])
    assert fires(one, {"kind": "section", "mixed": True, "minutes": 5 if there else None}) is False
    assert fires(one, {"kind": "section", "mixed": True, "minutes": None if there else 5}) is True


def test_two_unless_on_the_section_each_hold_off() -> None:
    one = rule(
        [{"section": {"mixed": {"is": True}}}],
        [{"section": {"band": {"is": "K-2"}}}, {"section": {"minutes": {"below": 30}}}],
    )
    for band, minutes, held in (("K-2", 50, False), ("3-5", 20, False), ("3-5", 50, True)):
        assert fires(one, {"kind": "section", "mixed": True, "band": band, "minutes": minutes}) is held
