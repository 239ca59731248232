"""The neutral rule form: what every engine adapter understands and nothing more.

A rule matches a set of facts. A fact is a flat mapping with a `kind` and declared scalar properties.
Facts are a set: two equal facts are one. A comparison with a missing property is false. One fact never
fills two patterns of one rule. A negated pattern holds when no fact satisfies it, those that the rule has
matched itself left aside; if it refers to a property that is missing on the fact it refers to, the whole rule
does not match. Numbers are compared after rounding to four decimals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

type_names = ("number", "word", "yes_no")
Type = Literal["number", "word", "yes_no"]
Op = Literal["==", "!=", "<", "<=", ">", ">=", "exists", "missing"]
Scalar = int | float | str | bool
Fact = Mapping[str, Scalar | None]
"""`{"kind": ..., property: value, ...}`; a None value counts as missing."""

Schema = Mapping[str, Mapping[str, Type]]
"""kind -> property -> type. `id`, `sid` and `kind` are reserved property names."""


@dataclass(frozen=True, slots=True)
class Ref:
    """A property of the fact that an earlier, positive pattern of the same rule has matched."""

    alias: str
    prop: str


@dataclass(frozen=True, slots=True)
class Test:
    """One comparison. `value` is None for `exists` and `missing`."""

    __test__: ClassVar[bool] = False  # no class of tests, whatever pytest makes of the name
    prop: str
    op: Op
    value: Scalar | Ref | None = None


@dataclass(frozen=True, slots=True)
class Pattern:
    """A fact that must be there (or, negated, must not). Positive patterns carry an alias, unique in the rule."""

    kind: str
    alias: str | None = None
    tests: tuple[Test, ...] = ()
    negated: bool = False


@dataclass(frozen=True, slots=True)
class Template:
    """A fact to make when the rule fires."""

    kind: str
    values: tuple[tuple[str, Scalar | Ref], ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of one stage. It sees the facts given and what earlier stages made, never its own stage's facts."""

    id: str
    stage: str
    when: tuple[Pattern, ...]
    makes: tuple[Template, ...] = ()


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule matched one combination of facts."""

    rule: str
    matched: Mapping[str, Fact]
    """alias -> the fact as it was given"""
    made: tuple[Fact, ...] = ()
    """facts that this firing added; one that was known already is not listed again"""
