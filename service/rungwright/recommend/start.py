"""Start settings: the band's preset, then what the caller set, then the rest fitted to this section."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from rungwright.domain.lever import Lever, LeverKind, tidy
from rungwright.domain.strict import Setting
from rungwright.measure.columns import Columns, columns
from rungwright.measure.kit import kit_check
from rungwright.measure.phases import WORK_SHARES, phase_minutes
from rungwright.measure.queues import station_tests
from rungwright.measure.rain import paper_carries_and_cover_small
from rungwright.measure.time import time_check
from rungwright.recommend.facts import copies_there, not_there, now_fact, rounded, section_fact
from rungwright.recommend.infer import limits_of
from rungwright.recommend.limits import Limits, start_places
from rungwright.recommend.model import checks_of
from rungwright.recommend.resolve import Case
from rungwright.recommend.wording import listed
from rungwright.rulebase import Move, RuleFiring
from rungwright.rulebase.words import say_setting

USUAL_TOOLS = {"scissors": "scissors", "hand_fan": "a fan", "sprayer": "a sprayer", "ruler": "a ruler"}
"""What is taken to be in a classroom whose teacher named no tools; common practice."""


@dataclass(frozen=True)
class Fitted:
    """One lever that does not stand at its preset although nobody set it, and why."""

    lever: str
    preset: Setting
    used: Setting
    why: str
    rule: str | None


@dataclass
class Start:
    settings: dict[str, Setting]
    fitted: dict[str, Fitted] = field(default_factory=dict)
    assumptions: list[str] = field(default_factory=list)
    banned: frozenset[str] = frozenset()
    """materials and tools that a limit rules out"""


def start(case: Case) -> Start:
    """Fit in this order: the weight there is, access, limits, the cupboard, stations and lessons, minutes.

    What the caller set stays.
    """
    made = Start({**case.preset, **case.set_by_caller})
    _weight(case, made)
    firings = case.rules.begin([rounded(section_fact(case)), now_fact(case, made.settings)], case.challenge.family)
    _access(case, made, firings)
    limits = limits_of(case, firings)
    made.banned = limits.banned
    case = replace(case, banned=made.banned)
    _limits(case, made, limits)
    _cupboard(case, made)
    _stations(case, made)
    _minutes(case, made, limits)
    made.assumptions += _assumptions(case)
    return made


def _fit(case: Case, made: Start, lever: str, used: Setting, why: str, rule: str | None = None) -> None:
    used = tidy(used)
    if lever in case.set_by_caller or used == made.settings[lever]:
        return
    made.settings[lever] = used
    made.fitted[lever] = Fitted(lever, case.preset[lever], used, why, rule)
    if used == case.preset[lever]:
        del made.fitted[lever]


def _weight(case: Case, made: Start) -> None:
    """The weight that was measured is the one there is: the start, where the challenge tests with such a weight."""
    grams = case.section.measured and case.section.measured.weight_g
    lever = case.levers.get("load_mass_g")
    if grams is None or lever is None or "load_mass_g" in case.set_by_caller:
        return
    grams = tidy(round(grams))
    said = say_setting(lever, grams, case.request.units.value)
    if lever.accepts(grams):
        _fit(case, made, lever.id, grams, f"You measured your weight: {said}.")
        return
    low, high = (say_setting(lever, value, case.request.units.value) for value in lever.bounds)
    made.assumptions.append(f"The weight you measured, {said}, is not from {low} to {high}: the usual one is taken.")


def _access(case: Case, made: Start, firings: Sequence[RuleFiring]) -> None:
    """Access settings apply before and after alike: they are set at once and never proposed."""
    moves = [f for f in firings if f.rule.propose and _kind(case, f) == LeverKind.ACCESS]
    for firing in sorted(moves, key=lambda f: (f.rule.propose.rank, f.rule.id), reverse=True):
        move = firing.rule.propose
        lever = case.levers[move.lever]
        to = move.to if move.steps is None else (lever.steps_from(made.settings[lever.id], 1) or [None])[0]
        if to is not None:
            here = made.settings[lever.id]
            why = firing.because(case.request.units.value, Move(**{"from": here, "to": to})).text
            _fit(case, made, lever.id, to, why, firing.rule.id)


def _kind(case: Case, firing: RuleFiring) -> str | None:
    lever = case.levers.get(firing.rule.propose.lever)
    return lever.kind if lever else None


def _limits(case: Case, made: Start, limits: Limits) -> None:
    """Move each lever that a limit forbids to its nearest allowed setting, the gentler of two."""
    places = start_places(case.levers, made.settings)
    for limit in limits.limits:
        if not limit.allowed:
            continue
        lever = case.levers[limit.levers[0]]
        cols = Columns(case.levers, made.settings, [{}, *({lever.id: s} for s in lever.settings)])
        broken = limit.broken(cols, places)
        allowed = [s for s, bad in zip(lever.settings, broken[1:], strict=True) if not bad]
        if broken[0] and allowed:
            here = lever.position(made.settings[lever.id])
            to = min(allowed, key=lambda s: (abs(lever.position(s) - here), lever.position(s)))
            _fit(case, made, lever.id, to, limit.text, limit.rule)


def _cupboard(case: Case, made: Start) -> None:
    """No more of a material than the cupboard holds for each group, a tenth kept back."""
    check = kit_check(case.challenge, case.section, case.stock, columns(case.levers, [made.settings]))
    if check.there is None:
        return
    for line in case.challenge.kit:
        if not check.short[line.role][0] > 0:
            continue
        lever = case.levers[line.lever]
        lack = check.short[line.role][0] / case.section.groups
        low, high = lever.bounds
        there = np.floor(round(made.settings[lever.id] - lack, 6))
        if lever.quantity in ("length_cm", "area_cm2"):
            there = np.floor(there / 5) * 5
        used = float(min(max(there, low), high))
        some = check.there[line.role] > 0
        holds = "does not hold more" if some else "holds no"
        why = f"The cupboard {holds} {line.label} for {_groups(case)}{', with a tenth kept back' if some else ''}."
        _fit(case, made, lever.id, used, why)


def _stations(case: Case, made: Start) -> None:
    there = copies_there(case)
    for test in station_tests(case.challenge):
        lever = case.levers[test.stations]
        if case.section.stations is not None and there[test.id] > 1:
            copies = min(there[test.id], case.section.groups, int(lever.bounds[1]))
            _fit(case, made, lever.id, copies, f"You have {there[test.id]} {test.label} stations.")
    lessons = min(len(case.section.sessions), int(case.levers["sessions_used"].bounds[1]))
    word = "one lesson" if lessons == 1 else f"{lessons} lessons"
    _fit(case, made, "sessions_used", lessons, f"You have {word} for it.")
    one_round_dry = made.settings["sessions_used"] <= 1 and made.settings["redesign_minutes"] > 0
    if one_round_dry and "first_round" in case.levers:
        _fit(case, made, "first_round", "dry_tests", "A soaked build is not rebuilt the same day: the rain comes last.")


def _minutes(case: Case, made: Start, limits: Limits) -> None:
    """Try the practical changes of the challenge in their order until building and testing fit the minutes."""
    most = {name: made.settings[name] for name in WORK_SHARES}
    paper = _paper(case, made)
    fits = _share_minutes(case, made, most, paper)
    there = {t.stations: copies_there(case)[t.id] for t in station_tests(case.challenge)}
    saves: set[tuple[str, Setting]] | None = None
    for step in case.challenge.fitting:
        lever = case.levers[step.lever]
        if lever.id in case.set_by_caller or lever.id in WORK_SHARES or lever.id == "sessions_used":
            continue
        for to in step.to:
            if fits == most or (fits and step.until == "it_fits"):
                break
            if to == "own_table" and case.section.stations is not None:
                break  # a set for every table is more than the stations that there are
            if lever.id in there and to > min(there[lever.id], case.section.groups):
                break
            if _against(lever, to, made.settings[lever.id]) or not _allowed(case, made, limits, lever.id, to):
                continue
            saves = _saving(case, made, paper) if saves is None else saves
            if (lever.id, to) not in saves:
                continue
            _fit(case, made, lever.id, to, step.why)
            fits, saves = _share_minutes(case, made, most, paper), None
    if fits:
        return
    # Not even the least fits: keep the least, so that the check says by how much.
    no_second_try = {**made.settings, "redesign_minutes": 0}
    fits = _shared(case, {**no_second_try, **_most(most, "redesign_minutes", 0)}, paper)
    if fits and "redesign_minutes" not in case.set_by_caller:
        for name, minutes in fits.items():
            second_try = name == "redesign_minutes"
            why = "The lesson is too short for a second try." if second_try else "Shared out of the minutes there are."
            _fit(case, made, name, minutes, why)
        if "first_round" in made.fitted:
            # With one round only, every test is in it.
            _fit(case, made, "first_round", case.preset["first_round"], "")
        return
    clock = case.challenge.minutes
    least = {
        "plan_minutes": min(case.levers["plan_minutes"].settings),
        "build_minutes": clock.build_at_least[case.section.band],
        "redesign_minutes": min(s for s in case.levers["redesign_minutes"].settings if s > 0),
    }
    for name, minutes in least.items():
        _fit(
            case, made, name, min(minutes, made.settings[name]), "The least there can be; it does not fit all the same."
        )


def _share_minutes(case: Case, made: Start, most: dict[str, Setting], paper: bool) -> dict[str, Setting] | None:
    """Set the three times of the work so that they fit; None where even the least of each does not."""
    fits = _shared(case, {**made.settings, **most}, paper)
    for name, minutes in (fits or {}).items():
        _fit(case, made, name, minutes, "Shared out of the minutes there are.")
    return fits


def _shared(case: Case, settings: Mapping[str, Setting], paper: bool) -> dict[str, Setting] | None:
    return phase_minutes(
        case.challenge,
        case.section,
        case.levers,
        settings,
        order_paper=paper,
        set_aside=case.set_aside,
        keep=set(WORK_SHARES) & set(case.set_by_caller),
    )


def _most(most: dict[str, Setting], lever: str, value: Setting) -> dict[str, Setting]:
    return {**most, lever: value}


def _paper(case: Case, made: Start) -> bool:
    cols = columns(case.levers, [made.settings])
    return bool(paper_carries_and_cover_small(cols, checks_of(case, cols).load)[0])


def _against(lever: Lever, to: Setting, now: Setting) -> bool:
    """A step that takes back what another fitted already."""
    return to == now or (lever.type == "number" and to < now)


def _allowed(case: Case, made: Start, limits: Limits, lever: str, to: Setting) -> bool:
    cols = Columns(case.levers, made.settings, [{}, {lever: to}])
    places = start_places(case.levers, made.settings)
    broken = [limit.broken(cols, places) for limit in limits.limits if lever in limit.levers]
    return not any(b[1] and not b[0] for b in broken)


def _saving(case: Case, made: Start, paper: bool) -> set[tuple[str, Setting]]:
    """The practical changes of the challenge that take fewer minutes than the settings as they are."""
    steps = [(step.lever, to) for step in case.challenge.fitting for to in step.to]
    cols = Columns(case.levers, made.settings, [{}, *({lever: to} for lever, to in steps)])
    needed = time_check(case.challenge, case.section, cols, np.full(cols.n, paper)).needed
    return {step for step, minutes in zip(steps, needed[1:], strict=True) if minutes < needed[0] - 1e-6}


def _groups(case: Case) -> str:
    return "one group" if case.section.groups == 1 else f"{case.section.groups} groups"


def _assumptions(case: Case) -> list[str]:
    section, told = case.section, []
    for test in not_there(case):
        out = {*(section.exclusions or ()), *case.banned}
        tools = listed([case.base.names[tool] for tool in test.made_with if tool not in out], "or")
        get = f"get {tools}, or " if tools else ""
        told.append(f"You told nothing for the {test.label} test: {get}tell groups that it is left out.")
    if section.materials is None:
        told.append("No cupboard was given: a usual one, with enough for the kit, is taken to be there.")
    if section.stations is None:
        told.append("No stations were given: up to two of each test can be set up.")
    if section.tools is None and not set(USUAL_TOOLS) <= set(section.exclusions or ()):
        tools = [said for tool, said in USUAL_TOOLS.items() if tool not in (section.exclusions or ())]
        told.append(f"No tools were given: {listed(tools)} {'is' if len(tools) == 1 else 'are'} taken to be there.")
    if not case.request.runs:
        told.append("No earlier run was given: readiness is that of a usual section of this grade.")
    elif any(run.settings is None for run in case.request.runs if run.challenge == case.challenge.id):
        told.append("Settings of an earlier run that were not told are taken as this section's start settings.")
    if any(run.challenge != case.challenge.id for run in case.request.runs):
        told.append("Settings of a run of another challenge that were not told are taken as usual for it.")
    return told
