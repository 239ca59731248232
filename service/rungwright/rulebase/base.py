"""A whole rule base: everything that is data, read and checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from rungwright.domain.challenge import Challenge
from rungwright.domain.climb import ClimbPlan
from rungwright.domain.lever import Lever
from rungwright.domain.material import Material
from rungwright.rulebase.entries import Source, StandardText, Tool
from rungwright.rulebase.marked import Marked
from rungwright.rulebase.problems import Problem, RuleBaseError
from rungwright.rulebase.rule import Rule
from rungwright.rulebase.sheet_words import Layout, PropertyPlace, Words
from rungwright.rulebase.vocabulary import Vocabulary


@dataclass(frozen=True)
class RuleBase:
    """Everything that is data. `marked` keeps each rule's file for the checks and the gate."""

    name: str
    version: str
    digest: str
    vocabulary: Vocabulary
    sources: Mapping[str, Source]
    levers: Mapping[str, Lever]
    materials: Mapping[str, Material]
    tools: Mapping[str, Tool]
    standards: Mapping[str, StandardText]
    challenges: Mapping[str, Challenge]
    ladders: Mapping[str, ClimbPlan]
    rules: Mapping[str, Rule]
    layouts: Mapping[str, Layout]
    properties: Mapping[str, PropertyPlace]
    words: Mapping[str, Words]
    files: Mapping[str, Marked] = field(repr=False)

    @cached_property
    def names(self) -> dict[str, str]:
        """How words in facts are said: criteria, tests, materials, tools."""
        out = {name: tool.label for name, tool in self.tools.items()}
        out |= {name: material.label for name, material in self.materials.items()}
        for challenge in self.challenges.values():
            out |= {t.id: t.label for t in challenge.tests} | {c.id: c.label for c in challenge.criteria}
        return out

    @cached_property
    def met(self) -> dict[str, str]:
        """criterion -> what a group that met it did: `stood up to the wind`."""
        return {c.id: c.met for challenge in self.challenges.values() for c in challenge.criteria}


def default_folder() -> Path:
    """The rules beside the installed package, or those of the checkout."""
    package = Path(__file__).resolve().parents[1]
    installed = package / "_rules"
    return installed if installed.is_dir() else package.parents[1] / "rules"


def load_rule_base(folder: Path, packs: Sequence[Path] = ()) -> RuleBase:
    """Read and check a rule base. Raises RuleBaseError with every mistake; OSError where the folder cannot be read."""
    # Both need the class above, so they live beside this module and are called from here.
    from rungwright.rulebase.check import check
    from rungwright.rulebase.reading import Reader

    if not folder.is_dir():
        raise RuleBaseError(
            [Problem(folder, 1, 1, "there is no such folder; give the folder that holds vocabulary.yaml")]
        )
    reader = Reader(folder, packs)
    base = reader.read()
    problems = reader.problems or check(base)
    if problems:
        raise RuleBaseError(problems)
    return base
