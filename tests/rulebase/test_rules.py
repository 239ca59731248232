"""The rules that come with the service."""

from __future__ import annotations

import pytest

from rungwright.domain.grades import band_of
from rungwright.domain.lever import LeverKind
from rungwright.domain.section import Support
from rungwright.recommend.facts import NEED_FACTS
from rungwright.rulebase import CompiledRules, RuleBase, default_folder, gate, load_rule_base, run_cases
from rungwright.rulebase.cases import changed, facts_of
from rungwright.rulebase.compile import INFER
from rungwright.rulebase.vocabulary import is_private
from tests.engine.conftest import engine  # noqa: F401  each engine in turn; durable must be there in CI before 3.13

NO_RULE_PROPOSES = {
    "hold_seconds": "the fair test: the same seconds for every build, moved by the bands' presets alone",
    "sessions_used": "fitted to the minutes that the section has, before anything is proposed",
}
"""lever -> why no rule proposes to move it"""
ONE_WAY = {
    ("first_round", "harder"): "rain in the first round is for the second try; taking it away only saves minutes",
    ("load_mass_g", "harder"): "a heavier weight is the same fair test no more: mass moves by band, and down for K-2",
    ("redesign_minutes", "harder"): "the second try is what the challenge is for; `retest` makes it harder instead",
    ("roles", "harder"): "roles are help with working together; none are taken away to make a test harder",
    ("worked_example", "harder"): "no example is the usual start, so there is none to take away",
    ("sessions_used", "easier"): "fitted, never proposed",
    ("sessions_used", "harder"): "fitted, never proposed",
    ("hold_seconds", "easier"): "the fair test, see above",
    ("hold_seconds", "harder"): "the fair test, see above",
}
"""(challenge lever, direction) -> why no rule proposes that"""
SOURCES_PLANNED = {"small_parts_labels"}
"""Sources kept for what is not there yet. A new one does not belong here: name it where it is used."""


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


def test_no_source_is_planned_for_but_those_of_the_table(base):
    planned = {name for name, source in base.sources.items() if (source.used_by or "").startswith("planned")}
    assert planned == SOURCES_PLANNED


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


def test_every_challenge_lever_is_proposed_both_ways_or_stands_in_the_table(base):
    proposed = {
        (rule.propose.lever, str(pattern.tests["direction"]["is"]))
        for rule in base.rules.values()
        if rule.propose
        for pattern in rule.when
        if pattern.kind == "section" and "is" in pattern.tests.get("direction", {})
    }
    challenge = [lever.id for lever in base.levers.values() if lever.kind == LeverKind.CHALLENGE]
    missing = {(lever, way) for lever in challenge for way in ("easier", "harder")} - proposed
    assert missing == set(ONE_WAY)


def test_every_support_is_read_by_a_rule(base):
    read = {prop for rule in base.rules.values() for pattern in rule.when for prop in pattern.tests}
    assert set(NEED_FACTS) == set(Support) and set(NEED_FACTS.values()) <= read


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
