"""Names that levers, materials, standards and challenges use: they must exist, and settings be allowed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from rungwright.domain.challenge import Challenge
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.checks.names import Names, setting_mistake
from rungwright.rulebase.problems import Problem, nearest

Place = tuple[str | int, ...]
Named = tuple[Place, str, str, Iterable[str]]
"""place in the file, what is named, its name, the names there are"""


def check_references(base: RuleBase, names: Names) -> list[Problem]:
    problems = []
    for file, named in _all_named(base, names):
        for at, what, name, known in named:
            if name not in known:
                problems.append(base.files[file].problem(at, f"there is no {what} {name!r}{nearest(name, known)}"))
    for challenge in base.challenges.values():
        for at, lever, value in _settings(challenge):
            if lever in base.levers and (mistake := setting_mistake(base.levers[lever], value)):
                problems.append(base.files[f"challenges/{challenge.id}"].problem(at, mistake))
    return problems


def _all_named(base: RuleBase, names: Names) -> Iterator[tuple[str, Iterator[Named]]]:
    for lever in base.levers.values():
        yield f"levers/{lever.id}", _of_lever(base, names, lever.id)
    for material in base.materials:
        yield f"materials/{material}", _of_material(base, material)
    for challenge in base.challenges.values():
        yield f"challenges/{challenge.id}", _of_challenge(base, names, challenge)
    yield (
        "standards",
        (((code, "source"), "source", s.source, base.sources) for code, s in base.standards.items() if s.source),
    )
    for rule in base.rules.values():
        sources = ((("basis", i, "source"), "source", b.source, base.sources) for i, b in enumerate(rule.basis))
        yield rule.id, sources


def _of_lever(base: RuleBase, names: Names, lever_id: str) -> Iterator[Named]:
    lever = base.levers[lever_id]
    criteria = names.criteria
    for i, criterion in enumerate(lever.touches):
        yield ("touches", i), "criterion", criterion, criteria
    for i, term in enumerate(lever.difficulty):
        yield ("difficulty", i, "source"), "source", term.source, base.sources
        for j, criterion in enumerate(term.criteria):
            yield ("difficulty", i, "criteria", j), "criterion", criterion, criteria | {"all"}


def _of_material(base: RuleBase, material_id: str) -> Iterator[Named]:
    material = base.materials[material_id]
    for i, other in enumerate(material.substitute):
        yield ("substitute", i), "material", other, base.materials
    if material.tool:
        yield ("tool",), "tool", material.tool, base.tools
    for name, prop in material.properties.items():
        yield ("properties", name, "source"), "source", prop.source, base.sources


def _of_challenge(base: RuleBase, names: Names, challenge: Challenge) -> Iterator[Named]:
    criteria = [c.id for c in challenge.criteria]
    tests = [t.id for t in challenge.tests]
    for at, lever, _ in _settings(challenge):
        yield at, "lever", lever, base.levers
    for i, test in enumerate(challenge.tests):
        if test.stations:
            yield ("tests", i, "stations"), "lever", test.stations, base.levers
        for lever in test.visit.each:
            yield ("tests", i, "visit", "each", lever), "lever", lever, base.levers
    for i, line in enumerate(challenge.kit):
        yield ("kit", i, "lever"), "lever", line.lever, base.levers
        yield ("kit", i, "role"), "role", line.role, {m.role for m in base.materials.values()}
    for i, test in enumerate(challenge.tests):
        for j, tool in enumerate(test.made_with):
            yield ("tests", i, "made_with", j), "tool", tool, base.tools
    for test, tools in challenge.station_kit.items():
        yield ("station_kit", test), "test", test, tests
        for i, thing in enumerate(tools):
            yield ("station_kit", test, i), "tool or material", thing, {*base.tools, *base.materials}
    for i, margin in enumerate(challenge.margins):
        yield ("margins", i, "criterion"), "criterion", margin.criterion, criteria
        yield ("margins", i, "source"), "source", margin.source, base.sources
    yield ("readiness", "source"), "source", challenge.readiness.source, base.sources
    for i, mend in enumerate(challenge.mend):
        yield ("mend", i, "lever"), "lever", mend.lever, base.levers
    for band, codes in challenge.standards.items():
        for i, code in enumerate(codes):
            yield ("standards", band.value, i), "standard", code, base.standards


def _settings(challenge: Challenge) -> Iterator[tuple[Place, str, Any]]:
    """Each setting that a challenge names, with its lever."""
    for band, preset in challenge.presets.items():
        for lever, value in preset.items():
            yield ("presets", band.value, lever), lever, value
    for i, criterion in enumerate(challenge.criteria):
        for lever, values in (criterion.only_if or {}).items():
            for j, value in enumerate(values):
                yield ("criteria", i, "only_if", lever, j), lever, value
    for i, fitting in enumerate(challenge.fitting):
        for j, value in enumerate(fitting.to):
            yield ("fitting", i, "to", j), fitting.lever, value
    for i, mend in enumerate(challenge.mend):
        if mend.to is not None:
            yield ("mend", i, "to"), mend.lever, mend.to
