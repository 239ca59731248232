"""One random rule base held against the oracle, engine by engine, and against the trace."""

from __future__ import annotations

from collections.abc import Iterable

from rungwright.engine import Fact, Firing, Rule, Schema, Tracer, compile_rules

from .oracle import Answer, answer, distinct, most_conditions
from .random_rules import random_base, stages

FEW = 5
"""Facts up to which every binding of a rule can be tried in a moment."""


def check_base(seed: int, engines: Iterable[str], sessions: int = 4, size: int | None = None) -> int:
    """Run the rule base of this seed on its sets of facts; the number of firings.

    Raises:
        AssertionError: an engine or the trace differs from the oracle; the message names the seed.
    """
    base = random_base(seed, sessions, size)
    tracer = Tracer(stages, base.schema, base.rules)
    programs = {engine: compile_rules(stages, base.schema, base.rules, engine) for engine in engines}
    fired = 0
    try:
        for place, facts in enumerate(base.fact_sets):
            expected = answer(stages, base.schema, base.rules, facts)
            fired += len(expected)
            firings: list[Firing] = []
            for engine, program in programs.items():
                firings = program.run(facts)
                where = f"seed {seed}, facts {place}, {engine}"
                assert _answer(firings) == expected, where
                _check_identity(firings, facts, where)
            _check_trace(tracer, facts, firings, expected, f"seed {seed}, facts {place}, trace")
            if len(facts) <= FEW:
                _check_nearest(tracer, base.schema, base.rules, facts, firings, f"seed {seed}, facts {place}, nearest")
    finally:
        for program in programs.values():
            program.close()
    return fired


def _answer(firings: Iterable[Firing]) -> Answer:
    return [(firing.rule, dict(firing.matched), list(firing.made)) for firing in firings]


def _check_identity(firings: Iterable[Firing], facts: Iterable[object], where: str) -> None:
    known = {id(fact) for fact in facts}
    for firing in firings:
        assert all(id(fact) in known for fact in firing.matched.values()), where
        known.update(id(fact) for fact in firing.made)


def _check_trace(
    tracer: Tracer, facts: Iterable[dict[str, object]], firings: list[Firing], expected: Answer, where: str
) -> None:
    first = {}
    for rule, matched, _ in expected:
        first.setdefault(rule, matched)
    for trace in tracer.trace_run(facts, firings):
        assert trace.fired == (trace.rule in first), f"{where}, {trace.rule}"
        assert trace.fired == (trace.satisfied == trace.conditions), f"{where}, {trace.rule}"
        if trace.fired:
            assert trace.matched == first[trace.rule], f"{where}, {trace.rule}"


def _check_nearest(
    tracer: Tracer, schema: Schema, rules: Iterable[Rule], facts: Iterable[Fact], firings: list[Firing], where: str
) -> None:
    stage_of = {rule.id: stages.index(rule.stage) for rule in rules}
    for rule in rules:
        seen = list(facts)
        for firing in firings:
            if stage_of[firing.rule] < stage_of[rule.id]:
                seen += firing.made
        kinds = {pattern.kind for pattern in rule.when}
        memory = distinct(schema, [fact for fact in seen if fact["kind"] in kinds])[:FEW]
        assert tracer.trace(rule.id, memory).satisfied == most_conditions(rule, memory), f"{where}, {rule.id}"
