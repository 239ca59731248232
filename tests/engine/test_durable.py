"""What happens when durable-rules itself fails: an error in words, and the next run is not affected."""

from __future__ import annotations

import re
from typing import Any

import pytest

from rungwright.engine import EngineError, Ref, compile_rules

from .small import criterion, has, no, rule, schema, section, stages

RULES = [
    rule(has("section", "s"), has("criterion", "c"), id="both"),
    rule(has("section", "s"), no("criterion"), id="one"),
]
FACTS = [section(grade=1), criterion(grade=2)]


@pytest.mark.parametrize(
    "line",
    [
        '{"id":"f0","sid":"s","kind":"section","grade":}',
        '{"id":"f0","sid":"s","kind":',
        '{"id":"f0","sid":"s","kind":"section","grade":1e-05,"x":+}',
        '{"id":"f0","sid":"s","kind":"section"' + "".join(f',"p{number}":1' for number in range(260)) + "}",
    ],
)
def test_a_batch_that_is_not_read_whole_is_an_error(durable: str, monkeypatch: pytest.MonkeyPatch, line: str) -> None:
    from rungwright.engine import durable as adapter

    with compile_rules(stages, schema, RULES, durable) as program:
        for _ in range(3):
            with monkeypatch.context() as patch:
                patch.setattr(adapter, "_line", lambda *_: line)
                with pytest.raises(EngineError, match="did not read the whole batch"):
                    program.run(FACTS)
            assert [firing.rule for firing in program.run(FACTS)] == ["both"]
            assert [firing.rule for firing in program.run(FACTS[:1])] == ["one"]


def test_an_error_of_the_engine_is_told_and_its_session_cleared_away(
    durable: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rungwright.engine import durable as adapter

    write = adapter.ruleset_text
    # Without its guard, a join to a missing property is error 311 in the middle of the batch.
    monkeypatch.setattr(adapter, "ruleset_text", lambda rules: write(rules).replace(', {"$ex": {"grade": 1}}', ""))
    join = rule(has("section", "s"), has("criterion", "c", ("grade", ">=", Ref("s", "grade"))))
    with compile_rules(stages, schema, [join], durable) as program:
        for _ in range(3):
            with pytest.raises(EngineError, match="durable-rules: Could not assert facts, error code: 311"):
                program.run([section(label="no grade"), criterion(grade=1)])
            assert len(program.run([section(grade=1), criterion(grade=1)])) == 1


def test_an_answer_that_cannot_be_read_is_an_error(durable: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from rungwright.engine import durable as adapter

    with compile_rules(stages, schema, RULES, durable) as program:
        with monkeypatch.context() as patch:
            patch.setattr(adapter, "_fact_id", re.compile(r'"q(\d+)":\{"id":"f(\d+)"'))
            with pytest.raises(EngineError, match="cannot be read"):
                program.run(FACTS)
        assert [firing.rule for firing in program.run(FACTS)] == ["both"]


def test_rules_that_the_engine_refuses_are_an_error(durable: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from rungwright.engine import durable as adapter

    written: list[Any] = []

    def text(rules: Any) -> str:
        written.append(rules)
        return '{"r0": {"all": [{"p0": 1'

    monkeypatch.setattr(adapter, "ruleset_text", text)
    with pytest.raises(EngineError, match=r"durable-rules did not take rules both ff\."):
        compile_rules(stages, schema, RULES, durable)
    assert written


def test_only_properties_that_rules_use_are_sent(durable: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from rungwright.engine import durable as adapter

    sent: list[str] = []
    line = adapter._line
    monkeypatch.setattr(adapter, "_line", lambda *given: sent.append(line(*given)) or sent[-1])
    one = rule(has("section", "s", ("grade", "==", 4), ("wet", "==", False)))
    two = rule(has("section", "s", ("label", "!=", 'a"b')), stage="second", id="two")
    with compile_rules(stages, schema, [one, two], durable) as program:
        program.run([section(minutes=40, label='c"d', wet=False, grade=4.5), criterion(name="x")])
    assert sent == [
        '{"id":"f0","sid":"s","kind":"section","grade":45000,"wet":false}',
        '{"id":"f0","sid":"s","kind":"section","label":"c\\"d"}',
    ]
