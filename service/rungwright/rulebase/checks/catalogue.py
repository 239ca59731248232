"""What levers, materials, standards, challenges and the vocabulary have to agree on beyond the names they use."""

from __future__ import annotations

from collections.abc import Iterator

from rungwright.domain.challenge import Challenge
from rungwright.domain.grades import Band
from rungwright.domain.lever import setting_key
from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import Problem, nearest
from rungwright.rulebase.vocabulary import RESERVED

NEEDED_KINDS = ("section", "now", "checks", "criterion", "station", "finding", "item", "tool")


def check_catalogue(base: RuleBase) -> list[Problem]:
    problems = [*_vocabulary(base), *_levers(base), *_materials(base), *_bands(base)]
    for challenge in base.challenges.values():
        problems += _presets(base, challenge)
        problems += _numbers(base, challenge)
        problems += _standards(base, challenge)
    return problems


def _vocabulary(base: RuleBase) -> Iterator[Problem]:
    file = base.files["vocabulary"]
    for kind in NEEDED_KINDS:
        if kind not in file.data:
            yield file.problem((), f"the kind {kind!r} is missing: the service makes such facts")
    for kind, entry in file.data.items():
        for prop in entry.get("properties") or ():
            at = (kind, "properties", prop)
            if prop in RESERVED:
                yield file.problem(at, f"{prop!r} is kept for the engines: name the property otherwise", key=True)
            elif kind == "now" and prop in base.levers:
                yield file.problem(at, f"{prop!r} is a lever, which `now` has anyway", key=True)


def _levers(base: RuleBase) -> Iterator[Problem]:
    used = {lever for c in base.challenges.values() for preset in c.presets.values() for lever in preset}
    for lever in base.levers.values():
        file = base.files[f"levers/{lever.id}"]
        if lever.id not in used:
            yield file.problem((), f"no challenge has the lever {lever.id!r} in its presets")
        known = [setting_key(s) for s in lever.settings]
        for table in ("lesson_minutes", "preparation_minutes"):
            for key in getattr(lever, table) or ():
                if key not in known:
                    yield file.problem(
                        (table, key), f"{key!r} is no setting of {lever.id}{nearest(key, known)}", key=True
                    )
        if lever.grades and not 0 <= lever.grades[0] <= lever.grades[1] <= 12:
            yield file.problem(("grades",), "grades run from 0, kindergarten, to 12: [lowest, highest]")


def _materials(base: RuleBase) -> Iterator[Problem]:
    for material in base.materials.values():
        file = base.files[f"materials/{material.id}"]
        for name, prop in material.properties.items():
            if not prop.low <= prop.value <= prop.high:
                message = f"the value {prop.value} lies outside its own range {prop.low} to {prop.high}"
                yield file.problem(("properties", name), message)
        for i, other in enumerate(material.substitute):
            if other == material.id:
                yield file.problem(("substitute", i), "a material is no substitute for itself")
            elif other in base.materials and base.materials[other].role != material.role:
                message = f"{other} is no substitute: its role is {base.materials[other].role}, not {material.role}"
                yield file.problem(("substitute", i), message)


def _bands(base: RuleBase) -> Iterator[Problem]:
    """Lists of bands in plain text."""
    known = [band.value for band in Band]
    listed = [("tools", name, "needs_adult", tool.needs_adult) for name, tool in base.tools.items()]
    listed += [("standards", name, "bands", standard.bands) for name, standard in base.standards.items()]
    for file, name, key, bands in listed:
        for i, band in enumerate(bands):
            if band not in known:
                yield base.files[file].problem((name, key, i), f"there is no band {band!r}{nearest(band, known)}")


def _presets(base: RuleBase, challenge: Challenge) -> Iterator[Problem]:
    """Every band sets the same levers, and every lever that the challenge works with."""
    file = base.files[f"challenges/{challenge.id}"]
    needed = {lever for preset in challenge.presets.values() for lever in preset}
    needed |= {line.lever for line in challenge.kit} | {f.lever for f in challenge.fitting}
    needed |= {m.lever for m in challenge.mend} | {t.stations for t in challenge.tests if t.stations}
    needed |= {lever for t in challenge.tests for lever in t.visit.each}
    needed |= {lever for c in challenge.criteria for lever in c.only_if or ()}
    for band, preset in challenge.presets.items():
        for lever in sorted((needed & set(base.levers)) - set(preset)):
            yield file.problem(
                ("presets", band.value), f"the preset of {band.value} lacks the lever {lever!r}", key=True
            )


def _numbers(base: RuleBase, challenge: Challenge) -> Iterator[Problem]:
    """Levers that count something must be numbers."""
    file = base.files[f"challenges/{challenge.id}"]
    counting = [(("kit", i, "lever"), line.lever) for i, line in enumerate(challenge.kit)]
    for i, test in enumerate(challenge.tests):
        counting += [(("tests", i, "stations"), test.stations)] if test.stations else []
        counting += [(("tests", i, "visit", "each", lever), lever) for lever in test.visit.each]
    for at, lever in counting:
        if lever in base.levers and base.levers[lever].type != "number":
            yield file.problem(at, f"a number lever is needed here, and {lever} is a {base.levers[lever].type}")


def _standards(base: RuleBase, challenge: Challenge) -> Iterator[Problem]:
    file = base.files[f"challenges/{challenge.id}"]
    for band, codes in challenge.standards.items():
        for i, code in enumerate(codes):
            if code in base.standards and band.value not in base.standards[code].bands:
                said = ", ".join(base.standards[code].bands)
                yield file.problem(("standards", band.value, i), f"{code} is for {said}, not for {band.value}")
