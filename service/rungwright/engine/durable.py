"""The durable-rules engine, kept on the path on which it is exact and cannot be made to crash.

Its C module is called directly: the library's own Host starts threads, swallows errors and hashes facts by content.
No actions, events, timers, retractions, regular expressions, arrays or nested objects are used. Each run is one
session of one batch: a start marker, the facts under ids of our own, an end marker.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import durable_rules_engine as engine

from rungwright.engine.check import PlannedRule, used_properties
from rungwright.engine.durable_form import WrittenRule, dumps, ruleset_text, split, write
from rungwright.engine.errors import EngineError
from rungwright.engine.session import Match
from rungwright.engine.values import Comparable, Known

_START, _AGAIN, _END = (
    f'{{"id":"{name}","sid":"s","kind":"${kind}"}}' for name, kind in (("in", "init"), ("in2", "init"), ("go", "go"))
)
# A quotation mark inside a word is written \", so these can be found nowhere but at the head of a rule or a fact.
_rule_name = re.compile(r'\{"r(\d+)":')
_fact_id = re.compile(r'"p(\d+)":\{"id":"f(\d+)"')


class DurableMatcher:
    """One stage of rules, in as many rulesets as it takes to stay within the tables of the C code."""

    def __init__(self, rules: Sequence[PlannedRule]) -> None:
        self._rulesets: list[_Ruleset] = []
        try:
            for part in split([write(rule) for rule in rules]):
                self._rulesets.append(_Ruleset(part))
        except BaseException:
            self.close()
            raise

    def match(self, facts: Sequence[Known]) -> Iterator[Match]:
        """See `session.Matcher`.

        Raises:
            EngineError: the engine reported an error or did not read the whole batch.
        """
        for ruleset in self._rulesets:
            yield from ruleset.match(facts)

    def close(self) -> None:
        """Free the rulesets: 1 to 4 MB a reload would be lost otherwise."""
        while self._rulesets:
            self._rulesets.pop().close()


class _Ruleset:
    def __init__(self, written: Sequence[WrittenRule]) -> None:
        rules = [one.rule for one in written]
        self._positive = {str(rule.number): len(rule.positive) for rule in rules}
        # Each property that no rule of this ruleset looks at would cost half a microsecond.
        self._used = used_properties(rules)
        try:
            self._handle = engine.create_ruleset("rules", ruleset_text(written))
        except engine.error as error:
            raise EngineError(f"durable-rules did not take rules {rules[0].rule.id} ff.: {error}") from error

    def match(self, facts: Sequence[Known]) -> list[Match]:
        found: list[Match] = []
        used = self._used
        lines = [_line(i, fact, used[fact.kind]) for i, fact in enumerate(facts) if fact.kind in used]
        if not lines:
            return found
        state, markers = None, 0
        try:
            _, state = engine.assert_facts(self._handle, ",".join((f"[{_START}", *lines, f"{_END}]")))
            # The start marker's rule sees to it that there is an action to start; without one, deletion crashes.
            result = engine.start_action_for_state(self._handle, state)[1]
            while result:
                rule = _rule_name.match(result)
                if rule:
                    found.append((int(rule[1]), self._places(rule[1], result)))
                else:
                    markers += 1
                result = engine.complete_and_start_action(self._handle, state)
            if markers != 2:
                raise EngineError("durable-rules did not read the whole batch of facts")
        except engine.error as error:
            raise EngineError(f"durable-rules: {error}") from error
        finally:
            if state is None:  # the batch failed: start an action, or deletion crashes
                state = engine.assert_fact(self._handle, _AGAIN)[1]
                engine.start_action_for_state(self._handle, state)
            engine.delete_state(self._handle, "s")
        return found

    def _places(self, rule: str, result: str) -> tuple[int, ...]:
        places = [place for _, place in sorted((int(p), int(f)) for p, f in _fact_id.findall(result))]
        if len(places) != self._positive[rule]:
            raise EngineError(f"durable-rules gave an answer that cannot be read: {result:.200}")
        return tuple(places)

    def close(self) -> None:
        engine.delete_ruleset(self._handle)


def _line(place: int, fact: Known, used: Sequence[str]) -> str:
    texts = fact.texts
    if not texts:
        for prop, value in fact.values.items():
            texts[prop] = f',"{prop}":{_text(value)}'
    body = "".join(filter(None, map(texts.get, used)))
    return f'{{"id":"f{place}","sid":"s","kind":"{fact.kind}"{body}}}'


def _text(value: Comparable) -> str:
    """As JSON; faster than `dumps` for what is not a word."""
    if type(value) is int:
        return str(value)
    if type(value) is str:
        return dumps(value)
    return "true" if value else "false"
