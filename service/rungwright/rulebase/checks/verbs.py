"""Verbs: levers, settings, materials, tools and criteria that exist, and limits that limit something."""

from __future__ import annotations

from typing import Any

from rungwright.domain.lever import Lever, LeverKind
from rungwright.rulebase.checks.names import setting_mistake
from rungwright.rulebase.checks.report import Report
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.verb import LeverSpec

_BOUND = ("at_most", "at_least", "one_of", "none_of")
_ORDER = ("at_most", "at_least", "above", "below")


def check_verb(report: Report) -> None:
    rule = report.rule
    if rule.find:
        _check_about(report)
    elif rule.propose:
        _check_propose(report)
    elif rule.bound:
        _check_bound(report, rule.bound)
    elif rule.forbid:
        _check_forbid(report, rule.forbid)
    elif rule.hold:
        for i, lever in enumerate(rule.hold.levers):
            _check_held(report, ("hold", "levers", i), lever, rule.hold.levers[:i])
    elif rule.ban:
        base = report.names.base
        for what, known in (("material", base.materials), ("tool", base.tools)):
            name = getattr(rule.ban, what)
            if name is not None and name not in known:
                report.add(("ban", what), f"there is no {what} {name!r}{nearest(name, known)}")


def _check_about(report: Report) -> None:
    about = report.rule.find.about
    if about is None:
        return
    alias, dot, prop = about.partition(".")
    if not dot:
        report.add(("find", "about"), report.names.value_mistake("finding", "about", about))
        return
    aliases = report.rule.aliases
    if alias not in aliases:
        report.add(("find", "about"), f"{alias!r} is no name of a condition{nearest(alias, aliases)}")
        return
    spec = report.names.base.vocabulary.get(aliases[alias], prop)
    if spec is None:
        report.add(("find", "about"), report.names.property_mistake(aliases[alias], prop))
    elif spec.type != "word":
        report.add(("find", "about"), f"a finding is about a word, and {about} is a {spec.type}")


def _check_propose(report: Report) -> None:
    propose = report.rule.propose
    if report.add(("propose", "lever"), report.names.lever_mistake(propose.lever)):
        return
    lever = report.names.base.levers[propose.lever]
    families = report.rule.families or ()
    there = [c for c in report.names.base.challenges.values() if c.family in families]
    if there and not any(lever.id in preset for c in there for preset in c.presets.values()):
        report.add(("propose", "lever"), f"no challenge of {', '.join(families)} has the lever {lever.id}")
    if propose.to is not None:
        report.add(("propose", "to"), setting_mistake(lever, propose.to))
    elif propose.steps >= len(lever.settings):
        report.add(("propose", "steps"), f"{lever.id} has {len(lever.settings)} settings: at most that less one step")


def _check_held(report: Report, at: tuple, lever: str, before: list[str]) -> None:
    if report.add(at, report.names.lever_mistake(lever)):
        return
    if report.names.base.levers[lever].kind != LeverKind.CHALLENGE:
        report.add(at, f"{lever} is no challenge lever: it moves toward neither easier nor harder")
    elif lever in before:
        report.add(at, f"{lever} is held twice")


def _check_bound(report: Report, bound: LeverSpec) -> None:
    if report.add(("bound", "lever"), report.names.lever_mistake(bound.lever)):
        return
    lever = report.names.base.levers[bound.lever]
    for word, _ in bound.tests():
        if word not in _BOUND:
            said = word.replace("_", " ")
            report.add(("bound", said), f"a bound is at most, at least, one of or none of, not {said}", key=True)
            return
    if _check_tests(report, ("bound",), lever, bound):
        return
    left = [s for s in lever.settings if all(_holds(s, word, value) for word, value in bound.tests())]
    if not left:
        report.add(("bound",), f"no setting of {lever.id} is left", key=True)
    elif len(left) == len(lever.settings):
        report.add(("bound",), f"every setting of {lever.id} is left, so it limits nothing", key=True)


def _check_forbid(report: Report, forbid: list[LeverSpec]) -> None:
    for i, spec in enumerate(forbid):
        at = ("forbid", i)
        if report.add((*at, "lever"), report.names.lever_mistake(spec.lever)):
            continue
        if spec.lever in [other.lever for other in forbid[:i]]:
            report.add((*at, "lever"), f"{spec.lever} stands twice: a lever has one setting at a time")
            continue
        lever = report.names.base.levers[spec.lever]
        if _check_tests(report, at, lever, spec):
            continue
        passing = [s for s in lever.settings if all(_holds(s, word, value) for word, value in spec.tests())]
        if not passing:
            report.add((*at, "lever"), f"no setting of {lever.id} passes this, so it forbids nothing")
        elif len(passing) == len(lever.settings):
            report.add((*at, "lever"), f"every setting of {lever.id} passes this: leave it out")


def _check_tests(report: Report, at: tuple, lever: Lever, spec: LeverSpec) -> bool:
    """Whether a test does not suit the lever."""
    wrong = False
    for word, value in spec.tests():
        said = word.replace("_", " ")
        if word in _ORDER and lever.type != "number":
            wrong |= report.add((*at, said), f"{lever.id} is no number, so nothing is {said} it", key=True)
        elif word not in _ORDER:
            for one in value if isinstance(value, tuple) else (value,):
                wrong |= report.add((*at, said), setting_mistake(lever, one))
    return wrong


def _holds(setting: Any, word: str, value: Any) -> bool:
    return {
        "is": lambda: setting == value,
        "is_not": lambda: setting != value,
        "one_of": lambda: setting in value,
        "none_of": lambda: setting not in value,
        "at_least": lambda: setting >= value,
        "at_most": lambda: setting <= value,
        "above": lambda: setting > value,
        "below": lambda: setting < value,
    }[word]()
