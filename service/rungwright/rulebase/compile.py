"""Rules compiled for an engine, run in two parts: what may change (infer), what to mind (advise)."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Any

from rungwright.domain.units import Units
from rungwright.engine import Fact, Failure, Firing, Pattern, Program, Ref, Template, Test, Tracer, choose, compile_rules
from rungwright.engine import Rule as EngineRule
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.reason import Rendered, render
from rungwright.rulebase.rule import Move, PatternSpec, Rule
from rungwright.rulebase.vocabulary import is_private
from rungwright.rulebase.words import number

INFER = ("derive", "adjust", "limit")
ADVISE = ("caution", "prompt")

_OPS = {"is": "==", "is not": "!=", "at least": ">=", "at most": "<=", "above": ">", "below": "<"}


@dataclass(frozen=True)
class RuleFiring:
    """One rule fired on one combination of facts."""

    rule: Rule
    matched: Mapping[str, Fact]
    made: tuple[Fact, ...]
    base: RuleBase = field(repr=False)

    def because(self, units: Units = "both", move: Move | None = None) -> Rendered:
        """The reason. A rule that proposes needs the move it is given for."""
        return render(self.base, self.rule, self.rule.because or "", self.matched, units, move)

    def text(self, template: str, units: Units = "both") -> str:
        """Another text of the rule, such as its warning."""
        return render(self.base, self.rule, template, self.matched, units).text


@dataclass(frozen=True)
class Considered:
    """One rule and whether it fired, or the first condition that failed."""

    rule: Rule
    fired: bool
    text: str


def variants(rule: Rule) -> list[EngineRule]:
    """The engine's rules of one rule: one for each choice of its `one of` words."""
    positive = [
        [Pattern(p.kind, alias, tests) for tests in _alternatives(p)]
        for alias, p in zip(rule.aliases, rule.when, strict=True)
    ]
    # A negated `one of` is not a variant: it is one negation for each word.
    negated = [Pattern(p.kind, None, tests, negated=True) for p in rule.unless for tests in _alternatives(p)]
    makes: tuple[Template, ...] = ()
    if rule.find:
        values: list[tuple[str, Any]] = [("name", rule.find.name)]
        if rule.find.about:
            values.append(("about", _value(rule.find.about)))
        makes = (Template("finding", tuple(values)),)
    name = rule.id.replace("/", ".")
    return [
        EngineRule(f"{name}.v{i}", rule.stage, (*patterns, *negated), makes)
        for i, patterns in enumerate(product(*positive))
    ]


def _value(text: str) -> str | Ref:
    alias, dot, prop = text.partition(".")
    return Ref(alias, prop) if dot else text


def _alternatives(pattern: PatternSpec) -> list[tuple[Test, ...]]:
    out: list[tuple[Test, ...]] = [()]
    for prop, words in pattern.tests.items():
        for word, value in words.items():
            choices = [(t,) for t in _one_of(prop, value)] if word == "one of" else [_tests(prop, word, value)]
            out = [(*done, *more) for done in out for more in choices]
    return out


def _one_of(prop: str, values: Sequence[Any]) -> list[Test]:
    return [Test(prop, "==", v) for v in values]


def _tests(prop: str, word: str, value: Any) -> tuple[Test, ...]:
    if word == "none of":
        return tuple(Test(prop, "!=", v) for v in value)
    if word == "between":
        return (Test(prop, ">=", value[0]), Test(prop, "<=", value[1]))
    if word in ("present", "absent"):
        return (Test(prop, "exists" if (word == "present") == bool(value) else "missing"),)
    if word == "same as":
        alias, _, other = value.partition(".")
        return (Test(prop, "==", Ref(alias, other)),)
    return (Test(prop, _OPS[word], value),)


class CompiledRules:
    """A rule base ready to run on one engine. Any thread may use it; close it when done with."""

    def __init__(self, base: RuleBase, engine: str = "auto"):
        self.base, self.engine = base, choose(engine)
        self._parts: dict[tuple[str, tuple[str, ...]], _Part] = {}
        self._lock = threading.Lock()

    def infer(self, facts: Sequence[Fact], family: str) -> list[RuleFiring]:
        """Derive, adjust and limit; facts made by derive rules are in the firings."""
        return self._part(family, INFER).run(facts)[0]

    def advise(self, facts: Sequence[Fact], family: str) -> list[RuleFiring]:
        """Caution and prompt; `facts` carries the findings of `infer`."""
        return self._part(family, ADVISE).run(facts)[0]

    def considered(self, facts: Sequence[Fact], family: str, *, advise: bool = False) -> list[Considered]:
        """Every rule of one part: fired, or why not."""
        return self._part(family, ADVISE if advise else INFER).considered(facts)

    def _part(self, family: str, stages: tuple[str, ...]) -> _Part:
        with self._lock:
            if (family, stages) not in self._parts:
                rules = [r for r in self.base.rules.values() if r.stage in stages and _applies(r, family)]
                self._parts[family, stages] = _Part(self.base, rules, stages, self.engine)
            return self._parts[family, stages]

    def close(self) -> None:
        with self._lock:
            for part in self._parts.values():
                part.program.close()
            self._parts.clear()


def _applies(rule: Rule, family: str) -> bool:
    return rule.families is None or family in rule.families


class _Part:
    """The rules of some stages for one family."""

    def __init__(self, base: RuleBase, rules: Sequence[Rule], stages: Sequence[str], engine: str):
        self.base, self.rules, self.stages = base, rules, stages
        self.by_variant = {v.id: rule for rule in rules for v in variants(rule)}
        self.compiled = [v for rule in rules for v in variants(rule)]
        self.program: Program = compile_rules(stages, base.vocabulary.schema, self.compiled, engine)

    def run(self, facts: Sequence[Fact]) -> tuple[list[RuleFiring], list[Firing]]:
        raw = self.program.run(facts)
        merged: dict[tuple[str, tuple[int, ...]], RuleFiring] = {}
        for firing in raw:
            rule = self.by_variant[firing.rule]
            key = (rule.id, tuple(id(f) for f in firing.matched.values()))
            known = merged.get(key)
            made = firing.made if known is None else (*known.made, *firing.made)
            merged[key] = RuleFiring(rule, firing.matched, made, self.base)
        return list(merged.values()), raw

    def considered(self, facts: Sequence[Fact]) -> list[Considered]:
        firings, raw = self.run(facts)
        fired = {f.rule.id for f in firings}
        nearest: dict[str, tuple[int, str]] = {}
        for trace in Tracer(self.stages, self.base.vocabulary.schema, self.compiled).trace_run(facts, raw):
            rule = self.by_variant[trace.rule]
            if trace.failure and trace.satisfied > nearest.get(rule.id, (-1, ""))[0]:
                nearest[rule.id] = (trace.satisfied, failure_sentence(self.base, rule, trace.failure))
        return [
            Considered(rule, rule.id in fired, "It fired." if rule.id in fired else nearest[rule.id][1])
            for rule in self.rules
        ]


_SAID = {"==": "is", "!=": "is not", ">=": "is at least", "<=": "is at most", ">": "is above", "<": "is below"}


def failure_sentence(base: RuleBase, rule: Rule, failure: Failure) -> str:
    """Why a rule did not fire, for a person. What it tests about supports is not told."""
    variant = variants(rule)[0]
    pattern = variant.when[failure.pattern]
    if failure.cause == "blocked":
        return f"It is held off because {_fact_said(pattern.kind, failure.fact)} is there."
    if failure.cause == "no_fact" or failure.test is None:
        return f"There is no {pattern.kind} that it could be about."
    test = failure.test
    if is_private(test.prop):
        return "It is about an access need."
    spec = base.vocabulary.get(pattern.kind, test.prop)
    what = spec.meaning if spec else test.prop
    have = (failure.fact or {}).get(test.prop)
    about = (failure.fact or {}).get("name")
    of = f" ({about})" if about and test.prop != "name" else ""
    wanted = f"{test.value.alias}.{test.value.prop}" if isinstance(test.value, Ref) else _plain(test.value)
    if test.op in ("exists", "missing"):
        need = "is told" if test.op == "exists" else "is not told"
    else:
        need = f"{_SAID[test.op]} {wanted}"
    return f"It needs that {what}{of} {need}; it is {'not told' if have is None else _plain(have)}."


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number(value) if isinstance(value, (int, float)) else str(value)


def _fact_said(kind: str, fact: Fact | None) -> str:
    name, about = (fact or {}).get("name"), (fact or {}).get("about")
    return f"the {kind}" + (f" {name}" if name else "") + (f" about {about}" if about else "")
