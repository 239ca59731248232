"""The rules that come with the service."""

from __future__ import annotations

import pytest

from rungwright.domain.grades import band_of
from rungwright.domain.lever import LeverKind
from rungwright.rulebase import CompiledRules, RuleBase, default_folder, gate, load_rule_base, run_cases
from rungwright.rulebase.cases import changed, facts_of
from rungwright.rulebase.checks.sources import unused_sources
from rungwright.rulebase.compile import INFER
from rungwright.rulebase.vocabulary import is_private
from tests.engine.conftest import engine  # noqa: F401  each engine in turn; durable must be there in CI before 3.13

NO_RULE_PROPOSES = {
    "base_tray": "fitted and mended: a tray is given wherever the wind test turns the build",
    "first_round": "fitted to the minutes; a second round is the teacher's choice",
    "hold_seconds": "the fair test: the same seconds for every build of a ladder, moved by the bands' presets",
    "load_item": "mended: a bag where a can or bottle would roll off",
    "load_mass_g": "the fair test: one mass for every build, moved by the bands' presets",
    "repair_kit": "the same for all groups of a section; the teacher's choice",
    "sessions_used": "fitted to the minutes that the section has",
}
"""lever -> why no rule proposes to move it"""
SOURCES_AWAITED = {
    "asce7": "the snow and wind calculators",
    "eye_protection_nsta": "cautions",
    "fan_speeds": "the wind calculator",
    "latex_allergy": "cautions",
    "reused_packaging": "cautions",
    "school_water_and_power": "cautions",
    "small_parts_labels": "cautions",
    "snow_weights": "the snow calculator",
    "sphere_handbook": "the figures calculator",
    "story_that_hurts": "cautions",
}
"""source -> what will name it"""


@pytest.fixture(scope="module")
def base() -> RuleBase:
    return load_rule_base(default_folder())


def test_every_case_passes(base, engine):  # noqa: F811
    assert [f"{r.rule}: {r.case}: {r.detail}" for r in run_cases(base, engine) if not r.passed] == []


def test_no_parameter_can_move_unnoticed(base):
    assert gate(base) == []


def test_every_lever_is_proposed_by_a_rule_or_stands_in_the_table(base):
    proposed = {rule.propose.lever for rule in base.rules.values() if rule.propose}
    assert set(base.levers) - proposed == set(NO_RULE_PROPOSES)


def test_every_source_is_named_or_awaited(base):
    """The table may only get shorter: what is named by now has to leave it."""
    unused = {source for source in base.sources for p in unused_sources(base) if f"{source!r}" in p.message}
    assert unused <= set(SOURCES_AWAITED), unused - set(SOURCES_AWAITED)


def test_what_is_awaited_is_declared(base):
    assert set(SOURCES_AWAITED) <= set(base.sources)


@pytest.mark.parametrize("direction", ["easier", "harder"])
def test_both_directions_are_proposed_for(base, direction):
    asks = {
        lever
        for rule in base.rules.values()
        if rule.propose and base.levers[lever := rule.propose.lever].kind == LeverKind.CHALLENGE
        for pattern in rule.when
        if pattern.kind == "section" and pattern.tests.get("direction", {}).get("is") == direction
    }
    criteria = {c for lever in asks for c in base.levers[lever].touches}
    assert criteria == {c.id for challenge in base.challenges.values() for c in challenge.criteria}


def test_every_band_stands_in_the_cases(base):
    seen = set()
    for rule in base.rules.values():
        for facts in [facts_of(rule.cases.fires.facts), *(changed(rule, case) for case in rule.cases.others)]:
            for fact in facts:
                seen |= {fact.get("band"), fact.get("band_low")}
                seen |= {band_of(fact[g]).value for g in ("grade_low", "grade_mid", "grade_high") if g in fact}
    assert {"K-2", "3-5", "6-8", "9-12"} <= seen


def test_no_reason_or_evidence_shows_a_support(base):
    rules = CompiledRules(base, "plain")
    tested = 0
    for rule in base.rules.values():
        if rule.because is None or not any(is_private(prop) for p in rule.when for prop in p.tests):
            continue
        tested += 1
        run = rules.infer if rule.stage in INFER else rules.advise
        firing = next(f for f in run(facts_of(rule.cases.fires.facts), "shelter") if f.rule.id == rule.id)
        told = firing.because(move=rule.cases.fires.move)
        assert not [q for q in told.evidence if is_private(q.property)]
        for word in ("reading", "language", "mobility", "sensory", "attention", "motor", "mouth"):
            assert word not in told.text.lower(), rule.id
    rules.close()
    assert tested > 10
