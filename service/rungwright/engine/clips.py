"""The CLIPS engine through clipspy.

Numbers are integers already and words are coded as integers, so nothing needs escaping and every comparison is one of
integers or symbols. A missing property is the symbol nil.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import clips
from clips._clips import lib

from rungwright.engine.check import PlannedPattern, PlannedRule, PlannedTest, presence_ops, used_properties
from rungwright.engine.errors import EngineError
from rungwright.engine.session import Match
from rungwright.engine.values import Comparable, Known

_functions = {"==": "eq", "!=": "neq"}


class ClipsMatcher:
    """One stage of rules in an environment of its own. All facts are there before any rule fires."""

    def __init__(self, rules: Sequence[PlannedRule]) -> None:
        self._found: list[Match] = []
        self._codes: dict[str, int] = {}
        self._environment: clips.Environment | None = None
        if not rules:
            return
        used = used_properties(rules)
        # Names are numbered: CLIPS forbids characters that the schema allows.
        self._kinds = {kind: f"k{number}" for number, kind in enumerate(used)}
        self._slots = {kind: {prop: f"s{number}" for number, prop in enumerate(props)} for kind, props in used.items()}
        environment = clips.Environment()
        found = self._found  # clipspy keeps the function for good if it holds the environment

        def hit(number: int, *places: int) -> None:
            found.append((number, places))

        environment.define_function(hit)
        try:
            for kind, name in self._kinds.items():
                slots = "".join(f"(slot {slot} (default nil))" for slot in self._slots[kind].values())
                environment.build(f"(deftemplate {name} (slot fid) {slots})")
            for rule in rules:
                environment.build(self._defrule(rule))
        except clips.CLIPSError as error:
            raise EngineError(f"clips did not take the rules: {error}") from error
        self._templates = {kind: environment.find_template(name) for kind, name in self._kinds.items()}
        self._environment = environment

    def match(self, facts: Sequence[Known]) -> Iterator[Match]:
        """See `session.Matcher`.

        Raises:
            EngineError: the engine reported an error.
        """
        if self._environment is None:
            return
        self._found.clear()
        codes: dict[str, int] = {}  # of words that no rule holds; kept for this run only
        try:
            self._environment.reset()
            for place, fact in enumerate(facts):
                slots = self._slots.get(fact.kind)
                if slots is None:
                    continue
                values = {
                    slots[prop]: self._coded(value, codes) for prop, value in fact.values.items() if prop in slots
                }
                asserted = self._templates[fact.kind].assert_fact(fid=place, **values)
                # clipspy 1.0.6 leaks each fact: Fact.__del__ passes one argument too many and hides the TypeError.
                lib.ReleaseFact(asserted._fact)
            self._environment.run()
        except clips.CLIPSError as error:
            raise EngineError(f"clips: {error}") from error
        yield from self._found

    def close(self) -> None:
        """Let the environment go; clipspy frees it."""
        self._environment = None
        self._templates = {}

    def _coded(self, value: Comparable, codes: dict[str, int]) -> int | bool:
        if not isinstance(value, str):
            return value
        code = self._codes.get(value)
        return codes.setdefault(value, len(self._codes) + len(codes)) if code is None else code

    def _constant(self, value: Comparable | None) -> str:
        if isinstance(value, str):
            value = self._codes.setdefault(value, len(self._codes))
        return str(value).upper()  # TRUE, FALSE or the integer

    def _defrule(self, rule: PlannedRule) -> str:
        left = []
        for position, pattern in enumerate(rule.patterns):
            text = self._pattern(rule, position, pattern)
            left.append(text if position < len(rule.positive) else f"(not {text})")
        places = " ".join(f"?f{position}" for position in range(len(rule.positive)))
        return f"(defrule r{rule.number} {' '.join(left)} => (hit {rule.number} {places}))"

    def _pattern(self, rule: PlannedRule, position: int, pattern: PlannedPattern) -> str:
        slots = self._slots[pattern.kind]
        constraints: dict[str, list[str]] = {}
        for prop in pattern.referred:
            constraints.setdefault(prop, []).append(f":(neq ?v{position}_{slots[prop]} nil)")
        for test in pattern.tests:
            own = f"?v{position}_{slots[test.prop]}"
            constraints.setdefault(test.prop, []).append(self._constraint(test, own, rule))
        written = "".join(
            f"({slots[prop]} {'&'.join([f'?v{position}_{slots[prop]}', *parts])})"
            for prop, parts in constraints.items()
        )
        # CLIPS lets one fact fill two patterns; a rule here does not.
        earlier = rule.positive[: min(position, len(rule.positive))]
        others = "".join(f"&~?f{number}" for number, other in enumerate(earlier) if other.kind == pattern.kind)
        return f"({self._kinds[pattern.kind]} (fid ?f{position}{others}){written})"

    def _constraint(self, test: PlannedTest, own: str, rule: PlannedRule) -> str:
        # Always an expression. Beside a constant, CLIPS 6.4 passes over the expressions of the same slot, and it
        # refuses a rule if it sees from the constants that the rule can never match.
        if test.op in presence_ops:
            return f":({'eq' if test.op == 'missing' else 'neq'} {own} nil)"
        if test.ref is not None:
            left, prop = test.ref
            other = f"?v{left}_{self._slots[rule.positive[left].kind][prop]}"
        else:
            other = self._constant(test.value)
        return f":(and (neq {own} nil) ({_functions.get(test.op, test.op)} {own} {other}))"
