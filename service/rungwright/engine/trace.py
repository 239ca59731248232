"""Why a rule did not fire: the plain evaluator again, asked for the binding that came nearest.

The conditions of a rule are, for each positive pattern in file order, that there is a fact for it and then each of
its tests; and, after all of those, that each negated pattern holds, in file order. Negated patterns come last because
a fact that a later pattern matches does not count against them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from rungwright.engine.check import PlannedPattern, PlannedRule, plan, used_properties
from rungwright.engine.combinations import CombinationCap
from rungwright.engine.form import Fact, Firing, Rule, Schema, Test
from rungwright.engine.plain import blocker, candidates, holds, missing_reference
from rungwright.engine.values import FactReader, Known, KnownFacts

Cause = Literal["no_fact", "test", "blocked", "no_reference"]


@dataclass(frozen=True, slots=True)
class Failure:
    """The first condition that fails for the nearest binding.

    `no_fact`: no fact of the pattern's kind is left. `test`: the best fact left fails `test`; `fact` is that fact.
    `blocked`: the negated pattern does not hold, because of `fact`. `no_reference`: the negated pattern's `test`
    refers to a property that `fact`, a matched one, lacks.
    """

    cause: Cause
    pattern: int
    """place in the rule's `when`, from 0"""
    test: Test | None = None
    fact: Fact | None = None


@dataclass(frozen=True, slots=True)
class Trace:
    """How far a rule came. `failure` is None if and only if it fired."""

    rule: str
    matched: Mapping[str, Fact]
    """alias -> fact, for the patterns of the nearest binding that are satisfied whole"""
    satisfied: int
    """conditions that hold, from the first on"""
    conditions: int
    """conditions of the rule"""
    failure: Failure | None = None

    @property
    def fired(self) -> bool:
        return self.failure is None


class Tracer:
    """Traces any rule of a rule base.

    Raises:
        RuleError: the rules are not ones that `compile_rules` takes.
    """

    def __init__(self, stages: Sequence[str], schema: Schema, rules: Sequence[Rule]) -> None:
        self._stages = plan(stages, schema, rules)
        planned = [one for stage in self._stages for one in stage.rules]
        self._rules = {one.rule.id: (one, CombinationCap([one])) for one in planned}
        self._reader = FactReader(schema, used_properties(planned))

    def trace(self, rule: str, facts: Iterable[Fact]) -> Trace:
        """One rule against what its stage sees: the facts given and those that earlier stages made.

        Raises:
            KeyError: there is no rule of that id.
            FactError: a fact that the schema does not allow.
            EngineError: too many combinations of facts.
        """
        return _trace(*self._rules[rule], KnownFacts(self._reader, facts).facts)

    def trace_run(self, facts: Iterable[Fact], firings: Iterable[Firing]) -> list[Trace]:
        """Every rule, by stage and rule order, against what its stage saw in a run that gave these firings.

        Raises:
            FactError, EngineError: as `trace`.
        """
        known = KnownFacts(self._reader, facts)
        made: dict[str, list[Fact]] = {}
        for firing in firings:
            made.setdefault(firing.rule, []).extend(firing.made)
        traces = []
        for stage in self._stages:
            traces += [_trace(*self._rules[planned.rule.id], known.facts) for planned in stage.rules]
            for planned in stage.rules:
                for fact in made.get(planned.rule.id, ()):
                    known.add(fact)
        return traces


def _trace(rule: PlannedRule, cap: CombinationCap, facts: Sequence[Known]) -> Trace:
    cap.check(facts)
    search = _Search(rule, facts)
    search.extend((), 0)
    satisfied, bound, failure = search.best
    matched = {alias: fact.fact for alias, fact in zip(rule.aliases, bound, strict=False)}
    conditions = sum(1 + len(pattern.tests) for pattern in rule.positive) + len(rule.negated)
    return Trace(rule.rule.id, matched, satisfied, conditions, failure)


class _Search:
    """Tries bindings until one satisfies everything; keeps the first of those that satisfy most conditions."""

    def __init__(self, rule: PlannedRule, facts: Sequence[Known]) -> None:
        self._rule = rule
        self._facts = facts
        self.best: tuple[int, tuple[Known, ...], Failure | None] = (-1, (), None)

    def extend(self, bound: tuple[Known, ...], satisfied: int) -> bool:
        """Bind the next positive pattern in every way, `satisfied` conditions holding so far; whether it fired."""
        if len(bound) == len(self._rule.positive):
            return self._negated(bound, satisfied)
        pattern = self._rule.positive[len(bound)]
        none = True
        for fact in candidates(pattern, self._facts, bound):
            none = False
            failed = next((n for n, test in enumerate(pattern.tests) if not holds(test, fact, bound)), None)
            if failed is None:
                if self.extend((*bound, fact), satisfied + 1 + len(pattern.tests)):
                    return True
            else:
                failure = Failure("test", pattern.index, self._test(pattern, failed), fact.fact)
                self._keep(satisfied + 1 + failed, bound, failure)
        if none:
            self._keep(satisfied, bound, Failure("no_fact", pattern.index))
        return False

    def _negated(self, bound: tuple[Known, ...], satisfied: int) -> bool:
        for pattern in self._rule.negated:
            lacking = missing_reference(pattern, bound)
            if lacking is not None:
                position, _ = pattern.tests[lacking].ref
                failure = Failure("no_reference", pattern.index, self._test(pattern, lacking), bound[position].fact)
                return self._keep(satisfied, bound, failure)
            blocking = blocker(pattern, self._facts, bound)
            if blocking is not None:
                return self._keep(satisfied, bound, Failure("blocked", pattern.index, fact=blocking.fact))
            satisfied += 1
        return self._keep(satisfied, bound, None)

    def _keep(self, satisfied: int, bound: tuple[Known, ...], failure: Failure | None) -> bool:
        if satisfied > self.best[0]:
            self.best = (satisfied, bound, failure)
        return failure is None

    def _test(self, pattern: PlannedPattern, number: int) -> Test:
        return self._rule.rule.when[pattern.index].tests[number]
