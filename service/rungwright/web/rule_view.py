"""A rule in plain words: what must be so, what it then does, why, on what it stands, how it is tried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from rungwright.rulebase import Rule, RuleBase
from rungwright.rulebase.rule import STAGES, PatternSpec
from rungwright.rulebase.words import say_setting
from rungwright.web.saying import capital

STAGE_WORDS = {
    "derive": "What it finds out",
    "adjust": "What it proposes",
    "limit": "What it holds back",
    "caution": "What it warns of",
    "prompt": "What it asks the groups",
}
_WORDS = {
    "is": "",
    "is not": "not ",
    "one of": "one of ",
    "none of": "none of ",
    "at least": "at least ",
    "at most": "at most ",
    "above": "above ",
    "below": "below ",
    "between": "between ",
    "same as": "the same as ",
}
_VERBS = {
    "find": "note",
    "bound": "keep",
    "forbid": "never have together",
    "hold": "do not move now",
    "ban": "use no",
    "pace": "move by",
    "warn": "warn",
    "ask": "ask the groups",
}


_CASES = {"near_miss": "nearly so", "boundary": "at the edge", "missing_fact": "not known"}


@dataclass(frozen=True)
class Basis:
    source: str
    title: str
    about: str
    """its kind where the title does not say it, who published it, and where in it"""
    supports: str


@dataclass(frozen=True)
class Case:
    label: str
    text: str
    fires: bool


@dataclass(frozen=True)
class RuleWords:
    id: str
    title: str
    stage: str
    when: list[str]
    unless: list[str]
    then: list[str]
    because: str
    """as it is said in its first case; with names in braces where that case does not say it"""
    numbers: list[tuple[str, str]]
    bases: list[Basis]
    cases: list[Case]


def rule_words(rule: Rule, base: RuleBase) -> RuleWords:
    return RuleWords(
        id=rule.id,
        title=rule.title,
        stage=STAGE_WORDS[rule.stage],
        when=[line for pattern in rule.when for line in _pattern(pattern, rule, base)],
        unless=[line for pattern in rule.unless for line in _pattern(pattern, rule, base)],
        then=list(_then(rule, base)),
        because=(rule.cases.fires.says or rule.because) if rule.because else "",
        numbers=[
            (capital(p.meaning), f"{p.value:g} {p.unit}, may be set from {p.range[0]:g} to {p.range[1]:g}")
            for p in rule.parameters.values()
        ],
        bases=[_basis(b.source, b.supports, base) for b in rule.basis],
        cases=list(_cases(rule)),
    )


def _pattern(pattern: PatternSpec, rule: Rule, base: RuleBase) -> Iterator[str]:
    # Which of several is meant is said only where there are several.
    alike = [p for p in (*rule.when, *rule.unless) if p.kind == pattern.kind]
    about = f" ({pattern.alias})" if pattern.alias and len(alike) > 1 and pattern.alias != pattern.kind else ""
    if not pattern.tests:
        yield f"There is a fact about: {pattern.kind}{about}."
    for prop, words in pattern.tests.items():
        spec = base.vocabulary.get(pattern.kind, prop)
        meaning = capital(spec.meaning.partition(";")[0]) if spec else capital(prop.replace("_", " "))
        for word, value in words.items():
            yield f"{meaning}{about}: {_test(prop, word, value, base)}."


def _test(prop: str, word: str, value: Any, base: RuleBase) -> str:
    if word in ("present", "absent"):
        return "known" if (word == "present") == bool(value) else "not known"
    return f"{_WORDS[word]}{_value(prop, value, base)}"


def _value(prop: str, value: Any, base: RuleBase) -> str:
    if isinstance(value, (list, tuple)):
        return ", ".join(_value(prop, part, base) for part in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    lever = base.levers.get(prop)
    if lever is not None and lever.accepts(value):
        return say_setting(lever, value)
    if isinstance(value, (int, float)):
        return f"{value:g}"
    return base.names.get(value, str(value).replace("_", " "))


def _then(rule: Rule, base: RuleBase) -> Iterator[str]:
    if rule.warn:
        yield rule.warn
    elif rule.ask:
        yield from rule.ask.questions
    elif rule.propose:
        lever = base.levers[rule.propose.lever]
        if rule.propose.to is not None:
            how = f"to {_value(lever.id, rule.propose.to, base)}"
        else:
            steps = rule.propose.steps
            how = "by one setting" if steps == 1 else f"by one to {steps} settings"
        yield f"Propose to change {lever.label} {how}."
        place = rule.propose.rank
        yield f"Where several changes fit, those of place 1 come before those of place 5: this one has place {place}."
    else:
        given = getattr(rule, rule.verb)
        for part in given if isinstance(given, list) and rule.verb == "forbid" else [given]:
            yield f"{capital(_VERBS[rule.verb])}: {_said(part, base)}."


def _said(value: Any, base: RuleBase) -> str:
    if isinstance(value, BaseModel):
        return _said(value.model_dump(by_alias=True, exclude_none=True), base)
    if isinstance(value, Mapping):
        return ", ".join(_part(key, part, value, base) for key, part in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(_said(part, base) for part in value)
    if isinstance(value, str) and value in base.levers:
        return base.levers[value].label
    return _value("", value, base)


def _part(key: str, part: Any, whole: Mapping[str, Any], base: RuleBase) -> str:
    if key in ("lever", "levers", "name", "material", "tool"):
        return _said(part, base)
    if isinstance(whole.get("lever"), str) and not isinstance(part, (Mapping, BaseModel)):
        return f"{key} {_value(whole['lever'], part, base)}"
    return f"{key} {_said(part, base)}"


def _basis(source: str, supports: str, base: RuleBase) -> Basis:
    known = base.sources[source]
    kind = known.kind.replace("_", " ")
    where = ", ".join(part for part in (known.publisher, known.locator) if part)
    # "Common practice, no source" says of what kind it is.
    about = "; ".join(part for part in ("" if kind in known.title.lower() else kind, where) if part)
    return Basis(source, known.title, about, supports)


def _cases(rule: Rule) -> Iterator[Case]:
    yield Case("all of it", rule.cases.fires.says or "It finds what it is for.", True)
    for case in rule.cases.others:
        yield Case(_CASES[case.label], capital(getattr(case, case.label)) + ".", case.fires)


def found(base: RuleBase, query: str, stage: str) -> list[Rule]:
    """Rules that hold every word of a query, in their id, title, reason, sources or what they are about."""
    words = query.lower().split()
    rules = [base.rules[k] for k in sorted(base.rules, key=lambda k: (STAGES.index(k.split("/")[0]), k))]
    return [r for r in rules if stage in ("", r.stage) and all(word in _searched(r, base) for word in words)]


def _searched(rule: Rule, base: RuleBase) -> str:
    about = [base.levers[n].label for n in base.levers if f"'{n}'" in repr(rule.gives) or n in rule.id]
    titles = [base.sources[b.source].title for b in rule.basis]
    prompts = rule.ask.questions if rule.ask else ()
    parts = [rule.id.replace("_", " "), rule.id, rule.title, rule.because or "", rule.warn or "", *prompts]
    return " ".join([*parts, *about, *titles]).lower()
