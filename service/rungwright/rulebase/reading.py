"""Reading a rule base from its folder, with the packs of a school laid over it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from rungwright.domain.challenge import Challenge
from rungwright.domain.climb import ClimbPlan
from rungwright.domain.lever import Lever
from rungwright.domain.material import Material
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.entries import About, Pack, PackSet, Source, StandardText, Tool
from rungwright.rulebase.marked import Marked, read_marked, validated
from rungwright.rulebase.parameter import put_in
from rungwright.rulebase.problems import Problem, nearest
from rungwright.rulebase.rule import STAGES, WITH_PARAMETERS, Rule
from rungwright.rulebase.sheet_words import ChallengeWords, CommonWords, Layout, PropertyPlace, Words
from rungwright.rulebase.vocabulary import KindSpec, vocabulary


class Reader:
    """Reads a folder and the packs over it. Mistakes go to `problems`; what could be read is in the rule base."""

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
        ladders = self._folder("ladders", ClimbPlan)
        rules = self._rules(self.folder, [])
        languages = about.languages if about else []
        layouts = {
            name: layout for name in challenges if languages and (layout := self._entry(f"words/{name}", Layout))
        }
        properties = self._table("words/properties", PropertyPlace) if languages else {}
        words = {language: spoken for language in languages if (spoken := self._words(language, challenges))}
        self._unread(self.folder)
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
            ladders,
            dict(sorted(rules.items())),
            layouts,
            properties,
            words,
            self.files,
        )

    def _unread(self, folder: Path) -> None:
        """A file in a wrong place would otherwise be left out without a word."""
        read = {marked.path for marked in self.files.values()}
        for path in sorted((*folder.rglob("*.yaml"), *folder.rglob("*.yml"))):
            if path not in read:
                places = ", ".join(f"{stage}/" for stage in STAGES)
                self.problems.append(Problem(path, 1, 1, f"nothing reads this file; rules are *.yaml under {places}"))

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
            value = self._entry(f"{name}/{path.stem}", model)
            if value is not None:
                out[path.stem] = value
        return out

    def _entry(self, name: str, model: type[BaseModel]) -> Any:
        """One file whose name is the id of its entry."""
        marked = self._read(name, self.folder / f"{name}.yaml")
        if marked is None:
            return None
        if not isinstance(marked.data, dict):
            self.problems.append(marked.problem((), "this file must map keys to values"))
            return None
        value = validated(model, marked, {"id": name.rpartition("/")[2], **marked.data})
        self._take(marked)
        return value

    def _words(self, language: str, challenges: Iterable[str]) -> Words | None:
        """The words of a language: the common ones and those of every challenge."""
        at = f"words/{language}"
        common = self._one(f"{at}/common", CommonWords)
        spoken = {name: said for name in challenges if (said := self._entry(f"{at}/{name}", ChallengeWords))}
        return Words(language, common, spoken) if common else None

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
                message = f"there is no rule {rule_id} to retire{nearest(rule_id, rules)}"
                self.problems.append(marked.problem(("retire", i), message))
            self.files.pop(rule_id, None)
        for rule_id, change in pack.set.items():
            self._set(marked, rule_id, change, rules)
        rules |= self._rules(folder, list(rules))
        self._unread(folder)
        return f"+{pack.name}-{pack.version}"

    def _set(self, pack: Marked, rule_id: str, change: PackSet, rules: dict[str, Rule]) -> None:
        at = ("set", rule_id)
        if rule_id not in rules:
            self.problems.append(
                pack.problem(at, f"there is no rule {rule_id} to set{nearest(rule_id, rules)}", key=True)
            )
            return
        old = self.files[rule_id]
        data = json.loads(json.dumps(old.data))
        for name, value in change.parameters.items():
            declared = data.get("parameters") or {}
            if name not in declared:
                message = f"{rule_id} has no parameter {name}{nearest(name, declared)}"
                self.problems.append(pack.problem((*at, "parameters", name), message, key=True))
                return
            data["parameters"][name]["value"] = value
        if change.cases is None:
            self.problems.append(pack.problem(at, "a changed parameter brings its own cases", key=True))
            return
        # What is wrong with the cases is told at their own places in the pack.
        inside = len(at)
        places = {p[inside:]: place for p, place in pack.places.items() if p[:inside] == at}
        keys = {p[inside:]: place for p, place in pack.keys.items() if p[:inside] == at}
        marked = Marked(pack.path, {**data, "cases": change.cases}, places, keys)
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
    values = (
        {n: p.get("value") for n, p in declared.items() if isinstance(p, dict)} if isinstance(declared, dict) else {}
    )
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
