"""Rules compiled for an engine, run in two parts: what may change (infer), what to mind (advise)."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property

from rungwright.domain.lever import LeverKind
from rungwright.domain.units import Units
from rungwright.domain.weights import Weights
from rungwright.engine import Fact, Firing, Program, Tracer, choose, compile_rules
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.case_spec import Move
from rungwright.rulebase.reason import Rendered, render
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.variants import variants
from rungwright.rulebase.why_not import failure_sentence

INFER = ("derive", "adjust", "limit")
ADVISE = ("caution", "prompt")
UNMEASURED = {"section", "now", "finding"}
"""Kinds of facts that there are before any setting is measured."""


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


class CompiledRules:
    """A rule base ready to run on one engine. Any thread may use it; close it when done with.

    `weights`, learnt from a school's own runs, lie over the starting guesses of the rule base; None for none.
    """

    def __init__(self, base: RuleBase, engine: str = "auto", weights: Weights | None = None):
        self.base, self.engine, self.weights = base, choose(engine), weights
        self._parts: dict[tuple[str, str], _Part] = {}
        self._lock = threading.Lock()

    def with_weights(self, weights: Weights | None) -> CompiledRules:
        """The same rules, compiled once for both, with other learnt weights. Close either, not both."""
        other = copy(self)
        other.weights = weights
        return other

    def begin(self, facts: Sequence[Fact], family: str) -> list[RuleFiring]:
        """Of `infer`, what needs nothing measured: access settings and limits, from `section` and `now` alone."""
        return self._part(family, "begin").run(facts)[0]

    def infer(self, facts: Sequence[Fact], family: str) -> list[RuleFiring]:
        """Derive, adjust and limit; facts made by derive rules are in the firings."""
        return self._part(family, "infer").run(facts)[0]

    def advise(self, facts: Sequence[Fact], family: str) -> list[RuleFiring]:
        """Caution and prompt; `facts` carries the findings of `infer`."""
        return self._part(family, "advise").run(facts)[0]

    def considered(self, facts: Sequence[Fact], family: str, *, advise: bool = False) -> list[Considered]:
        """Every rule of one part: fired, or why not."""
        return self._part(family, "advise" if advise else "infer").considered(facts)

    def _part(self, family: str, name: str) -> _Part:
        with self._lock:
            if (family, name) not in self._parts:
                stages = ADVISE if name == "advise" else INFER
                rules = [r for r in self.base.rules.values() if r.stage in stages and _applies(r, family)]
                if name == "begin":
                    rules = [r for r in rules if self._begins(r)]
                self._parts[family, name] = _Part(self.base, rules, stages, self.engine)
            return self._parts[family, name]

    def _begins(self, rule: Rule) -> bool:
        if rule.propose and self.base.levers[rule.propose.lever].kind != LeverKind.ACCESS:
            return False
        return set(rule.kinds) <= UNMEASURED

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
        of = [(rule, v) for rule in rules for v in variants(rule)]
        self.compiled = [v for _, v in of]
        self.by_variant = {v.id: (rule, v) for rule, v in of}
        self.program: Program = compile_rules(stages, base.vocabulary.schema, self.compiled, engine)

    @cached_property
    def tracer(self) -> Tracer:
        return Tracer(self.stages, self.base.vocabulary.schema, self.compiled)

    def run(self, facts: Sequence[Fact]) -> tuple[list[RuleFiring], list[Firing]]:
        raw = self.program.run(facts)
        merged: dict[tuple[str, tuple[int, ...]], RuleFiring] = {}
        for firing in raw:
            rule, _ = self.by_variant[firing.rule]
            key = (rule.id, tuple(id(f) for f in firing.matched.values()))
            known = merged.get(key)
            made = firing.made if known is None else (*known.made, *firing.made)
            merged[key] = RuleFiring(rule, firing.matched, made, self.base)
        return list(merged.values()), raw

    def considered(self, facts: Sequence[Fact]) -> list[Considered]:
        firings, raw = self.run(facts)
        fired = {f.rule.id for f in firings}
        nearest: dict[str, tuple[int, str]] = {}
        for trace in self.tracer.trace_run(facts, raw):
            rule, variant = self.by_variant[trace.rule]
            if trace.failure and trace.satisfied > nearest.get(rule.id, (-1, ""))[0]:
                nearest[rule.id] = (trace.satisfied, failure_sentence(self.base, rule, variant, trace.failure))
        return [
            Considered(rule, rule.id in fired, "It fired." if rule.id in fired else nearest[rule.id][1])
            for rule in self.rules
        ]
