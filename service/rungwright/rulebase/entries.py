"""Entries of the small files of a rule base: about, sources, tools, standards, packs."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from rungwright.domain.strict import Id, Strict

SourceKind = Literal[
    "standard", "handbook", "study", "common_practice", "agreed_here", "from_memory", "starting_guess", "own_runs"
]


class About(Strict):
    name: str
    version: str
    languages: list[str] = Field(default=[], description="languages the sheets are printed in; a folder of words/ each")


class Source(Strict):
    kind: SourceKind
    title: str
    publisher: str | None = None
    locator: str | None = None
    note: str | None = None
    used_by: str | None = Field(default=None, description="what cites it outside of the rule base")


class Tool(Strict):
    label: str
    needs_adult: list[str] = Field(default=[])
    note: str | None = None


class StandardText(Strict):
    code: str
    bands: list[str]
    text: str
    caution: str | None = None
    source: Id | None = None


class PackSet(Strict):
    parameters: dict[Id, int | float]
    cases: dict[str, Any] | None = None


class Pack(Strict):
    """A school's own folder over the built-in one."""

    name: str
    version: str
    retire: list[str] = []
    set: dict[str, PackSet] = {}
