"""The part of a run that is the same for every engine: facts in, a stage at a time, firings out in one order."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping, Sequence
from types import TracebackType
from typing import Protocol, Self

from rungwright.engine.check import PlannedRule, PlannedStage, used_properties
from rungwright.engine.combinations import CombinationCap
from rungwright.engine.errors import EngineError
from rungwright.engine.form import Fact, Firing, Ref, Scalar, Schema, Template
from rungwright.engine.values import FactReader, Known, KnownFacts

MAX_FACTS = 500
"""Facts that one stage reads. Runs of about 50 stay fast; durable-rules hashes the ids, and no two of these collide."""

Match = tuple[int, tuple[int, ...]]
"""number of a rule; for each of its positive patterns, the place of the fact among those given to the matcher"""


class Matcher(Protocol):
    """One stage, compiled by one engine. Never called by two threads at once."""

    def match(self, facts: Sequence[Known]) -> Iterable[Match]:
        """Every match of every rule of the stage, each once, in any order. Keeps nothing for the next call."""
        ...

    def close(self) -> None:
        """Give back what the engine holds. May be called twice."""
        ...


class StagedProgram:
    """A compiled rule base. One run at a time goes through the engine; other threads wait."""

    def __init__(self, schema: Schema, stages: Sequence[PlannedStage], matchers: Sequence[Matcher]) -> None:
        rules = [rule for stage in stages for rule in stage.rules]
        self._reader = FactReader(schema, used_properties(rules))
        self._lock = threading.Lock()
        self._closed = False
        self._rules = {rule.number: rule for rule in rules}
        self._stages = [
            (stage.name, frozenset(used_properties(stage.rules)), CombinationCap(stage.rules), matcher)
            for stage, matcher in zip(stages, matchers, strict=True)
        ]

    def run(self, facts: Iterable[Fact]) -> list[Firing]:
        """Every firing, by stage, then rule, then the order of the matched facts.

        `matched` holds the very mappings that the caller gave, `made` the facts that the firing added, with the
        values as given: four decimals are what is compared, not what is copied. Equal facts are one, the first.

        Raises:
            FactError: a fact that the schema does not allow.
            EngineError: the program is closed, the facts are too many, or the engine failed. A later run is not
                affected.
        """
        known = KnownFacts(self._reader, facts)
        firings: list[Firing] = []
        with self._lock:
            if self._closed:
                raise EngineError("this program is closed; compile the rules again")
            for name, kinds, cap, matcher in self._stages:
                visible = [fact for fact in known.facts if fact.kind in kinds]
                if not visible:
                    continue  # every rule has a positive pattern
                if len(visible) > MAX_FACTS:
                    raise EngineError(f"stage {name} reads {len(visible)} facts, at most {MAX_FACTS} are allowed")
                cap.check(visible)
                for number, places in sorted(matcher.match(visible)):
                    firings.append(_fire(self._rules[number], [visible[place] for place in places], known))
        return firings

    def close(self) -> None:
        """Give back what the engine holds, once a run that is under way has ended. May be called twice."""
        with self._lock:
            self._closed = True
            for *_, matcher in self._stages:
                matcher.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _fire(planned: PlannedRule, facts: Sequence[Known], known: KnownFacts) -> Firing:
    matched = {alias: fact.fact for alias, fact in zip(planned.aliases, facts, strict=True)}
    made = (_make(template, matched) for template in planned.rule.makes)
    return Firing(planned.rule.id, matched, tuple(fact for fact in made if known.add(fact)))


def _make(template: Template, matched: Mapping[str, Fact]) -> Fact:
    fact: dict[str, Scalar | None] = {"kind": template.kind}
    for prop, value in template.values:
        fact[prop] = matched[value.alias].get(value.prop) if isinstance(value, Ref) else value
    return fact
