"""A whole rule base, read from its folder."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, Field

from rungwright.domain.challenge import Challenge
from rungwright.domain.lever import Lever
from rungwright.domain.material import Material
from rungwright.domain.strict import Id, Strict
from rungwright.rulebase.marked import Marked, read_marked, validated
from rungwright.rulebase.problems import Problem, RuleBaseError
from rungwright.rulebase.rule import STAGES, WITH_PARAMETERS, Rule, put_in
from rungwright.rulebase.vocabulary import KindSpec, Vocabulary, vocabulary

SourceKind = Literal[
    "standard", "handbook", "study", "common_practice", "agreed_here", "from_memory", "starting_guess"
]


class About(Strict):
    name: str
    version: str


class Source(Strict):
    kind: SourceKind
    title: str
    publisher: str | None = None
    locator: str | None = None
    note: str | None = None


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
    rules: Mapping[str, Rule]
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
    # Checks need the loaded parts, so they live beside this module and are called from here.
    from rungwright.rulebase.check import check

    if not folder.is_dir():
        raise RuleBaseError([Problem(folder, 1, 1, "there is no such folder; give the folder that holds vocabulary.yaml")])
    reader = _Reader(folder, packs)
    base = reader.read()
    problems = reader.problems or check(base)
    if problems:
        raise RuleBaseError(problems)
    return base


class _Reader:
    def __init__(self, folder: Path, packs: Sequence[Path]):
        self.folder, self.packs = folder, packs
        self.problems: list[Problem] = []
        self.files: dict[str, Marked] = {}

    def read(self) -> RuleBase:
        about = self._one("about", About)
        kinds = self._table("vocabulary", KindSpec)
        sources = self._table("sources", Source)
        tools = self._table("tools", Tool)
        standards = self._table("standards", StandardText)
        levers = self._folder("levers", Lever)
        materials = self._folder("materials", Material)
        challenges = self._folder("challenges", Challenge)
        rules = self._rules(self.folder, [])
        version = about.version if about else "0"
        for path in self.packs:
            version += self._pack(path, rules)
        content = {name: self.files[name].data for name in sorted(self.files)}
        digest = hashlib.sha256(json.dumps(content, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:32]
        return RuleBase(
            about.name if about else "",
            version,
            digest,
            vocabulary(kinds, levers),
            sources,
            levers,
            materials,
            tools,
            standards,
            challenges,
            dict(sorted(rules.items())),
            self.files,
        )

    def _read(self, name: str, path: Path) -> Marked | None:
        if not path.is_file():
            self.problems.append(Problem(path, 1, 1, "this file is missing"))
            return None
        marked = read_marked(path)
        self.files[name] = marked
        self.problems += marked.problems
        marked.problems.clear()
        return marked if marked.data is not None else None

    def _take(self, marked: Marked) -> None:
        self.problems += marked.problems
        marked.problems.clear()

    def _one(self, name: str, model: type[BaseModel]) -> Any:
        marked = self._read(name, self.folder / f"{name}.yaml")
        if marked is None:
            return None
        value = validated(model, marked)
        self._take(marked)
        return value

    def _table(self, name: str, model: type[BaseModel]) -> dict[str, Any]:
        """A file that maps ids to entries."""
        marked = self._read(name, self.folder / f"{name}.yaml")
        out = {}
        if marked is None:
            return out
        if not isinstance(marked.data, dict):
            self.problems.append(marked.problem((), "this file must map names to entries"))
            return out
        for key, entry in marked.data.items():
            value = validated(model, marked, entry if entry is not None else {}, (key,))
            if value is not None:
                out[key] = value
        self._take(marked)
        return out

    def _folder(self, name: str, model: type[BaseModel]) -> dict[str, Any]:
        """A folder with one entry a file; the file's name is the id."""
        out = {}
        for path in sorted((self.folder / name).glob("*.yaml")):
            marked = self._read(f"{name}/{path.stem}", path)
            if marked is None:
                continue
            if not isinstance(marked.data, dict):
                self.problems.append(marked.problem((), "this file must map keys to values"))
                continue
            value = validated(model, marked, {"id": path.stem, **marked.data})
            self._take(marked)
            if value is not None:
                out[path.stem] = value
        return out

    def _rules(self, folder: Path, known: Sequence[str]) -> dict[str, Rule]:
        out = {}
        for path in _rule_files(folder):
            rule_id = path.relative_to(folder).with_suffix("").as_posix()
            marked = self._read(rule_id, path)
            if marked is None:
                continue
            if rule_id in known:
                self.problems.append(marked.problem((), f"the rule {rule_id} is there already; retire it in pack.yaml"))
                continue
            rule = build_rule(rule_id, marked)
            self._take(marked)
            if rule is not None:
                out[rule_id] = rule
        return out

    def _pack(self, folder: Path, rules: dict[str, Rule]) -> str:
        """Lay a pack over the rules; returns its part of the version."""
        marked = self._read(f"pack:{folder.name}", folder / "pack.yaml")
        pack = validated(Pack, marked) if marked else None
        if marked:
            self._take(marked)
        if pack is None:
            return ""
        for i, rule_id in enumerate(pack.retire):
            if rules.pop(rule_id, None) is None:
                self.problems.append(marked.problem(("retire", i), f"there is no rule {rule_id} to retire"))
            self.files.pop(rule_id, None)
        for rule_id, change in pack.set.items():
            self._set(marked, rule_id, change, rules)
        rules |= self._rules(folder, list(rules))
        return f"+{pack.name}-{pack.version}"

    def _set(self, pack: Marked, rule_id: str, change: PackSet, rules: dict[str, Rule]) -> None:
        at = ("set", rule_id)
        if rule_id not in rules:
            self.problems.append(pack.problem(at, f"there is no rule {rule_id} to set", key=True))
            return
        old = self.files[rule_id]
        data = json.loads(json.dumps(old.data))
        for name, value in change.parameters.items():
            if name not in data.get("parameters", {}):
                self.problems.append(pack.problem((*at, "parameters", name), f"{rule_id} has no parameter {name}"))
                return
            data["parameters"][name]["value"] = value
        if change.cases is None:
            self.problems.append(pack.problem(at, "a changed parameter brings its own cases", key=True))
            return
        marked = Marked(pack.path, {**data, "cases": change.cases}, {(): pack.places[at]}, {})
        self.files[rule_id] = marked
        rule = build_rule(rule_id, marked)
        self._take(marked)
        if rule is not None:
            rules[rule_id] = rule


def _rule_files(folder: Path) -> Iterator[Path]:
    for stage in STAGES:
        yield from sorted((folder / stage).rglob("*.yaml"))


def build_rule(rule_id: str, marked: Marked, parameters: Mapping[str, float] | None = None) -> Rule | None:
    """The rule of a file with its parameters put in; `parameters` replaces their values (for the gate)."""
    data = marked.data
    if not isinstance(data, dict):
        marked.problems.append(marked.problem((), "a rule file must map keys to values"))
        return None
    if "id" in data:
        marked.problems.append(marked.problem(("id",), "a rule's id is the path of its file; leave it out", key=True))
        return None
    declared = data.get("parameters") or {}
    values = {n: p.get("value") for n, p in declared.items() if isinstance(p, dict)} if isinstance(declared, dict) else {}
    values |= parameters or {}
    used: set[str] = set()
    missing: set[str] = set()
    filled = {k: put_in(v, values, used, missing) if k in WITH_PARAMETERS else v for k, v in data.items()}
    for name in sorted(missing):
        marked.problems.append(marked.problem(_find(data, f"${name}"), f"the parameter ${name} is not declared"))
    for name in sorted(set(values) - used):
        marked.problems.append(marked.problem(("parameters", name), f"the parameter {name} is used nowhere", key=True))
    if marked.problems:
        return None
    return validated(Rule, marked, {"id": rule_id, **filled})


def _find(data: Any, text: str, at: tuple = ()) -> tuple:
    """Where a text stands in plain data."""
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        if value == text:
            return (*at, key)
        if found := _find(value, text, (*at, key)):
            return found
    return ()
