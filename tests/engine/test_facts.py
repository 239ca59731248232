"""What a fact may not hold."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Any

import numpy
import pytest

from rungwright.engine import FactError, Ref, compile_rules

from .small import criterion, has, rule, run, schema, section, stages

S = rule(has("section", "s", ("grade", ">", 0)))


@pytest.mark.parametrize(
    ("fact", "message"),
    [
        ({}, "a fact is a mapping whose kind is one of"),
        ({"kind": "setcion"}, "a fact is a mapping whose kind is one of"),
        ({"kind": 1}, "a fact is a mapping whose kind is one of"),
        ({"kind": ["section"]}, "a fact is a mapping whose kind is one of"),
        ("section", "a fact is a mapping whose kind is one of"),
        (None, "a fact is a mapping whose kind is one of"),
        (section(grade="5"), "fact section, grade = '5' (str): a number must be"),
        (section(grade=True), "fact section, grade = True (bool): a number must be"),
        (section(grade=math.nan), "a finite int or float"),
        (section(grade=math.inf), "a finite int or float"),
        (section(grade=-math.inf), "a finite int or float"),
        (section(grade=10**11), "of size under 100,000,000,000"),
        (section(grade=-(10**400)), "of size under 100,000,000,000"),
        (section(grade=numpy.float64(1.5)), "(float64): a number must be a finite int or float"),
        (section(grade=[5]), "a number must be"),
        (section(wet=1), "fact section, wet = 1 (int): a yes_no must be True or False"),
        (section(wet="yes"), "a yes_no must be"),
        (section(label=1), "a word must be a str"),
        (section(label="x" * 401), "at most 400 characters"),
        (section(label="a\udfffb"), "half of a surrogate pair"),
    ],
)
def test_a_mistake_in_a_fact_is_refused(engine: str, fact: Any, message: str) -> None:
    with compile_rules(stages, schema, [S], engine) as program:
        with pytest.raises(FactError) as caught:
            program.run([section(grade=1), fact])
        assert message in str(caught.value)
        assert len(program.run([section(grade=1)])) == 1, "a later run is not affected"


def test_a_mistake_in_a_property_that_no_rule_uses_is_refused_too(engine: str) -> None:
    with pytest.raises(FactError, match="minutes"):
        run(engine, S, [section(grade=1, minutes="40")])


def test_any_mapping_is_a_fact_and_any_iterable_of_them_will_do(engine: str) -> None:
    given = MappingProxyType(section(grade=1))
    (firing,) = run(engine, S, iter([given]))  # type: ignore[arg-type]
    assert firing.matched["s"] is given


def test_facts_are_left_as_they_were(engine: str) -> None:
    facts = [section(grade=1.00001, label=None), criterion(grade=1)]
    before = [dict(fact) for fact in facts]
    run(engine, rule(has("section", "s"), has("criterion", "c", ("grade", "==", Ref("s", "grade")))), facts)
    assert facts == before
