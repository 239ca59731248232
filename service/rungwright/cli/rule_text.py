"""A rule as readable text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from rungwright.cli.terminal import wrapped
from rungwright.rulebase import Rule, RuleBase
from rungwright.rulebase.rule import PatternSpec


def shown(base: RuleBase, rule: Rule) -> list[str]:
    return [
        wrapped(rule.title),
        f"{rule.id} (version {base.version})",
        "",
        *(line for p in rule.when for line in _pattern("When", p)),
        *(line for p in rule.unless for line in _pattern("Unless", p)),
        _line("Then", f"{rule.verb} {_said(getattr(rule, rule.verb))}"),
        *([_line("Because", rule.because)] if rule.because else []),
        *(
            _line("Number", f"{name} {p.value:g} {p.unit} ({p.range[0]:g} to {p.range[1]:g}): {p.meaning}")
            for name, p in rule.parameters.items()
        ),
        *(_line("Stands on", f"{base.sources[b.source].title}: {b.supports}") for b in rule.basis),
        _line("Cases", f"1 that fires, {len(rule.cases.others)} others"),
    ]


def _line(label: str, text: str) -> str:
    return wrapped(text, 11, label)


def _pattern(label: str, pattern: PatternSpec) -> Iterator[str]:
    name = f" (called {pattern.alias})" if pattern.alias and pattern.alias != pattern.kind else ""
    tests = [f"{prop} {word} {_said(value)}" for prop, words in pattern.tests.items() for word, value in words.items()]
    yield _line(label, f"{pattern.kind}{name}: {', '.join(tests) or 'any'}")


def _said(value: Any) -> str:
    if isinstance(value, BaseModel):
        return _said(value.model_dump(by_alias=True, exclude_none=True))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_said(part)}" for key, part in value.items())
    if isinstance(value, (list, tuple)):
        return " / ".join(map(_said, value))
    return f"{value:g}" if isinstance(value, float) else str(value)
