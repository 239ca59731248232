"""Every name that a rule base declares, and what a value of a fact or a lever may be."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Any, get_args

from rungwright.domain.lever import Lever
from rungwright.domain.material import Rigidity
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.vocabulary import PropertySpec

_TYPES = {"number": "a number", "word": "a word", "yes_no": "true or false"}


class Names:
    """What may be named in one rule base."""

    def __init__(self, base: RuleBase) -> None:
        self.base = base

    @cached_property
    def criteria(self) -> frozenset[str]:
        return frozenset(c.id for challenge in self.base.challenges.values() for c in challenge.criteria)

    @cached_property
    def tests(self) -> frozenset[str]:
        return frozenset(t.id for challenge in self.base.challenges.values() for t in challenge.tests)

    @cached_property
    def findings(self) -> frozenset[str]:
        return frozenset(rule.find.name for rule in self.base.rules.values() if rule.find)

    @cached_property
    def _about(self) -> dict[str, frozenset[str]]:
        out: dict[str, frozenset[str]] = {}
        for rule in self.base.rules.values():
            if rule.find and rule.find.about:
                out[rule.find.name] = out.get(rule.find.name, frozenset()) | self._made_about(rule, rule.find.about)
        return out

    def _made_about(self, rule: Rule, about: str) -> frozenset[str]:
        alias, dot, prop = about.partition(".")
        if not dot:
            return frozenset({about})
        if alias not in rule.aliases:
            return frozenset()
        words = rule.when[list(rule.aliases).index(alias)].tests.get(prop, {})
        named = [words["is"]] if "is" in words else words.get("one of")
        if isinstance(named, list):
            return frozenset(map(str, named))
        return frozenset(self._words.get((rule.aliases[alias], prop), ()))

    def found_about(self, name: str) -> frozenset[str]:
        """What a finding of this name may be about."""
        return self._about.get(name, frozenset())

    @cached_property
    def _subjects(self) -> frozenset[str]:
        """What a finding may be about."""
        return self.criteria | self.tests | frozenset(self.base.levers)

    @cached_property
    def _words(self) -> dict[tuple[str, str], frozenset[str]]:
        return {
            ("criterion", "name"): self.criteria,
            ("station", "name"): self.tests,
            ("finding", "about"): self._subjects,
            ("item", "name"): frozenset(self.base.materials),
            ("item", "role"): frozenset(m.role for m in self.base.materials.values()),
            ("item", "rigidity"): frozenset(get_args(Rigidity)),
            ("tool", "name"): frozenset(self.base.tools),
        }

    def kind_mistake(self, kind: str) -> str | None:
        if kind in self.base.vocabulary.kinds:
            return None
        return f"{kind!r} is no kind of fact{nearest(kind, self.base.vocabulary.kinds)}"

    def property_mistake(self, kind: str, prop: str) -> str | None:
        """Of a kind that is declared."""
        known = self.base.vocabulary.kinds[kind]
        return None if prop in known else f"{kind} has no property {prop!r}{nearest(prop, known)}"

    def value_mistake(self, kind: str, prop: str, value: Any) -> str | None:
        """What is wrong with a value of a declared property, if anything."""
        spec = self.base.vocabulary.kinds[kind][prop]
        if not _is_type(value, spec):
            return f"{kind}.{prop} is {_TYPES[spec.type]}, not {value!r}"
        if kind == "now" and prop in self.base.levers:
            return setting_mistake(self.base.levers[prop], value)
        if spec.type != "word":
            return None
        if (kind, prop) == ("finding", "name"):
            if value in self.findings:
                return None
            return f"no derive rule finds {value!r}{nearest(value, self.findings)}"
        words: Iterable[str] = spec.one_of or self._words.get((kind, prop), ())
        if words and value not in words:
            return f"{kind}.{prop} is never {value!r}{nearest(value, words)}"
        return None

    def lever_mistake(self, lever: str) -> str | None:
        return None if lever in self.base.levers else f"there is no lever {lever!r}{nearest(lever, self.base.levers)}"


def setting_mistake(lever: Lever, value: Any) -> str | None:
    """What is wrong with a setting of a lever, if anything."""
    if lever.accepts(value):
        return None
    if lever.type == "number":
        low, high = lever.bounds
        return f"{value!r} is no setting of {lever.id}, which runs from {low} to {high}"
    if lever.type == "yes_no":
        return f"{value!r} is no setting of {lever.id}, which is true or false"
    return f"{value!r} is no setting of {lever.id}{nearest(value, map(str, lever.settings))}"


def _is_type(value: Any, spec: PropertySpec) -> bool:
    if spec.type == "yes_no":
        return isinstance(value, bool)
    if spec.type == "word":
        return isinstance(value, str)
    return isinstance(value, (int, float)) and not isinstance(value, bool)
