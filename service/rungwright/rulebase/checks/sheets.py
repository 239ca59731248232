"""Words of the printed sheets: nothing that a sheet may say is missing in any language, and no slot is unknown."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from rungwright.domain.grades import Band
from rungwright.domain.lever import setting_key
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import Problem, nearest
from rungwright.rulebase.sheet_words import RULES_LANGUAGE, ChallengeWords, Layout, Words

SLOT = re.compile(r"\{([^{}]*)\}")


def for_groups(rule_id: str) -> bool:
    """Whether a caution or prompt is meant for the groups, not for the teacher alone."""
    return "/teacher/" not in rule_id


def check_sheets(base: RuleBase) -> Iterator[Problem]:
    if not base.words:
        return
    for name, layout in base.layouts.items():
        yield from _layout(base, name, layout)
    yield from _properties(base)
    for words in base.words.values():
        yield from _common(base, words)
        for name, spoken in words.challenges.items():
            if name in base.layouts:
                yield from _challenge(base, f"words/{words.language}/{name}", name, spoken)


def _complete(
    base: RuleBase, file: str, at: tuple, what: str, said: Collection[str], needed: Collection[str]
) -> Iterator[Problem]:
    """Each needed name has an entry, and no entry is for anything else."""
    for name in sorted(set(needed) - set(said)):
        yield base.files[file].problem(at, f"the {what} {name!r} has no words here")
    for name in sorted(set(said) - set(needed)):
        yield base.files[file].problem((*at, name), f"there is no {what} {name!r}{nearest(name, needed)}", key=True)


def _layout(base: RuleBase, name: str, layout: Layout) -> Iterator[Problem]:
    file, challenge = f"words/{name}", base.challenges[name]
    yield from _complete(base, file, ("criteria",), "criterion", layout.criteria, [c.id for c in challenge.criteria])
    places = [(("criteria", c, "levers", i), v) for c, x in layout.criteria.items() for i, v in enumerate(x.levers)]
    for part in ("work", "testing"):
        for i, said in enumerate(getattr(layout, part)):
            places += [((part, i, key), v) for key, v in (("lever", said.lever), ("where", said.where)) if v]
    for at, lever in places:
        if lever not in base.levers:
            yield base.files[file].problem(at, f"there is no lever {lever!r}{nearest(lever, base.levers)}")


def _properties(base: RuleBase) -> Iterator[Problem]:
    roles = {m.role for m in base.materials.values()}
    criteria = {c.id for challenge in base.challenges.values() for c in challenge.criteria}
    for name, place in base.properties.items():
        parts = (("roles", "role", place.roles, roles), ("criteria", "criterion", place.criteria, criteria))
        for key, what, said, known in parts:
            for i, word in enumerate(said):
                if word not in known:
                    message = f"there is no {what} {word!r}{nearest(word, known)}"
                    yield base.files["words/properties"].problem((name, key, i), message)


def _common(base: RuleBase, words: Words) -> Iterator[Problem]:
    file, common = f"words/{words.language}/common", words.common
    groups = [rule for rule in base.rules.values() if for_groups(rule.id)]
    asked = {rule.id: rule.ask.questions for rule in groups if rule.ask}
    yield from _complete(base, file, ("safety",), "caution", common.safety, [r.id for r in groups if r.warn])
    yield from _complete(base, file, ("materials",), "material", common.materials, base.materials)
    yield from _complete(base, file, ("tools",), "tool", common.tools, base.tools)
    yield from _complete(base, file, ("properties",), "property", common.properties, base.properties)
    moments = {rule.ask.about for rule in groups if rule.ask} - {
        c.id for x in base.challenges.values() for c in x.criteria
    }
    yield from _complete(base, file, ("moments",), "moment of the lesson", common.moments, moments)
    if words.language == RULES_LANGUAGE:
        asked = {}
    yield from _complete(base, file, ("questions",), "prompt", common.questions, asked)
    for rule, questions in common.questions.items():
        if rule in asked and len(questions) != len(asked[rule]):
            message = f"{rule} asks {len(asked[rule])} questions, and here are {len(questions)}"
            yield base.files[file].problem(("questions", rule), message, key=True)
    for at, texts in _texts(base.files[file].data):
        if Band.K_2 not in texts:
            yield base.files[file].problem(at, "every text starts with the words of K-2")


def _challenge(base: RuleBase, file: str, name: str, spoken: ChallengeWords) -> Iterator[Problem]:
    challenge, layout, marked = base.challenges[name], base.layouts[name], base.files[file]
    yield from _complete(base, file, ("criteria",), "criterion", spoken.criteria, [c.id for c in challenge.criteria])
    yield from _complete(base, file, ("tests",), "test", spoken.tests, [t.id for t in challenge.tests])
    english = base.words[RULES_LANGUAGE].challenges[name] if RULES_LANGUAGE in base.words else spoken
    for test, words in spoken.tests.items():
        ways = english.tests[test].by if test in english.tests else {}
        yield from _complete(base, file, ("tests", test, "by"), "tool", words.by, ways)
        for tool in words.by:
            if tool not in base.tools:
                message = f"there is no tool {tool!r}{nearest(tool, base.tools)}"
                yield marked.problem(("tests", test, "by", tool), message, key=True)
    yield from _complete(base, file, ("kit",), "kit line", spoken.kit, [line.lever for line in challenge.kit])
    yield from _complete(base, file, ("levers",), "lever", spoken.levers, layout.levers)
    for lever_id in set(spoken.levers) & set(base.levers):
        lever = base.levers[lever_id]
        keys = ["one", "many"] if lever.type == "number" else [setting_key(s) for s in lever.settings]
        if lever.type == "number" and 0 in lever.settings:
            keys.append("none")
        yield from _complete(base, file, ("levers", lever_id), "setting", spoken.levers[lever_id], keys)
    if name in base.ladders and spoken is not english:
        yield from _rungs(base, file, name, spoken)
    known = {"n", "figure", "figures"}
    known |= {slot for v in base.levers.values() if v.type == "number" for slot in (v.id, f"{v.id}_n")}
    for at, texts in _texts(marked.data):
        if Band.K_2 not in texts and at[-2:-1] != ("by",):
            yield marked.problem(at, "every text starts with the words of K-2")
        for band, text in texts.items():
            for slot in SLOT.findall(str(text)):
                if slot not in known:
                    yield marked.problem((*at, band), f"there is no slot {slot!r}{nearest(slot, known)}")


def _rungs(base: RuleBase, file: str, name: str, spoken: ChallengeWords) -> Iterator[Problem]:
    """What the plan for ladders says of each rung, in another language than the plan's own."""
    asks = {climb.lever: climb.asks for climb in base.ladders[name].climbs}
    if spoken.first_rung is None:
        yield base.files[file].problem((), "the first rung has no words here: give first_rung its name and text")
    yield from _complete(base, file, ("rungs",), "lever that climbs", spoken.rungs, asks)
    for lever, said in spoken.rungs.items():
        if lever in asks:
            yield from _complete(base, file, ("rungs", lever), "step", said, asks[lever])


def _texts(data: Any, at: tuple = ()) -> Iterator[tuple[tuple, Mapping[str, Any]]]:
    """Every table of texts by band, with its place."""
    if not isinstance(data, dict):
        return
    if data and set(data) <= set(Band):
        yield at, data
        return
    for key, value in data.items():
        if isinstance(value, list):
            for i, item in enumerate(value):
                yield from _texts(item, (*at, key, i))
        yield from _texts(value, (*at, key))
