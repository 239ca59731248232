"""Reasons: templates over the facts that a rule matched, and the evidence behind them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from rungwright.domain.units import Units
from rungwright.engine.form import Fact
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.case_spec import Move
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.vocabulary import is_private
from rungwright.rulebase.words import counted, number, quantity, say_setting, say_word

SLOT = re.compile(r"\{([^{}]*)\}")
_QUANTITIES = {
    "mass": "g",
    "length_cm": "cm",
    "length_mm": "mm",
    "minutes": "minutes",
    "seconds": "seconds",
    "times": "times",
}
NUMBER_FORMATTERS = ("count", "number", *_QUANTITIES, "minutes_short")
FORMATTERS = (*NUMBER_FORMATTERS, "met", "word")
"""Without one, a number is said by its unit and a word by its label. `minutes_short` says -7 as `7 minutes`."""


@dataclass(frozen=True)
class Slot:
    """`{alias.prop|formatter:a:b}`, or `{from}` and `{to}` with no property."""

    alias: str
    prop: str | None
    formatter: str | None
    arguments: tuple[str, ...]


@dataclass(frozen=True)
class Quoted:
    """One fact behind a reason."""

    fact: str
    property: str
    about: str | None
    value: object
    unit: str | None
    meaning: str


@dataclass(frozen=True)
class Rendered:
    text: str
    evidence: tuple[Quoted, ...]


def slots(template: str) -> Iterator[Slot]:
    for match in SLOT.finditer(template):
        yield _slot(match[1])


@cache
def _slot(text: str) -> Slot:
    name, _, formatter = text.partition("|")
    alias, _, prop = name.partition(".")
    kind, *arguments = formatter.split(":") if formatter else [None]
    return Slot(alias, prop or None, kind, tuple(arguments))


def render(
    base: RuleBase,
    rule: Rule,
    template: str,
    matched: Mapping[str, Fact],
    units: Units = "both",
    move: Move | None = None,
) -> Rendered:
    """The text with every slot filled, and as evidence the facts quoted first, then the others that the rule tested.

    What a rule tests about supports is in no text and no evidence.

    Raises:
        ValueError: the template has {from} or {to} and no move is given.
    """
    quoted: dict[tuple[str, str], None] = {}

    def fill(match: re.Match[str]) -> str:
        slot = _slot(match[1])
        if slot.prop is None:
            if move is None or rule.propose is None:
                raise ValueError(f"rule {rule.id} speaks of a move: say which")
            lever = base.levers[rule.propose.lever]
            return say_setting(lever, move.from_ if slot.alias == "from" else move.to, units)
        quoted[(slot.alias, slot.prop)] = None
        return _said(base, rule, matched[slot.alias], slot, units)

    text = SLOT.sub(fill, template)
    for alias, pattern in zip(rule.aliases, rule.when, strict=True):
        quoted.update({(alias, prop): None for prop in pattern.tests})
    evidence = tuple(
        _quote(base, rule.aliases[alias], prop, matched[alias])
        for alias, prop in quoted
        if not is_private(prop) and matched[alias].get(prop) is not None
    )
    return Rendered(text, evidence)


def _said(base: RuleBase, rule: Rule, fact: Fact, slot: Slot, units: Units) -> str:
    value = fact[slot.prop]
    if slot.formatter == "count":
        return counted(value, *slot.arguments)
    if slot.formatter == "number":
        return number(value)
    if slot.formatter == "minutes_short":
        return quantity(abs(value), "minutes", units)
    if slot.formatter in _QUANTITIES:
        return quantity(value, _QUANTITIES[slot.formatter], units)
    if slot.formatter == "met":
        return base.met.get(str(value), say_word(value, base.names))
    kind = rule.aliases[slot.alias]
    if kind == "now" and slot.prop in base.levers:
        return say_setting(base.levers[slot.prop], value, units)
    spec = base.vocabulary.get(kind, slot.prop)
    if spec.type == "number":
        return quantity(value, spec.unit or "", units)
    return say_word(value, base.names)


def _quote(base: RuleBase, kind: str, prop: str, fact: Fact) -> Quoted:
    spec = base.vocabulary.get(kind, prop)
    about = fact.get("name")
    return Quoted(kind, prop, str(about) if about is not None else None, fact[prop], spec.unit, spec.meaning)
