"""Why a rule did not fire, as a person reads it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from rungwright.rulebase import CompiledRules, RuleBase, load_rule_base

RULE = "adjust/load/second_spot"


@pytest.fixture(scope="module")
def base() -> RuleBase:
    return load_rule_base(Path(__file__).parent / "small")


def facts(base: RuleBase, **changes: dict[str, Any] | None) -> list[dict[str, Any]]:
    """The facts of the case that fires, with properties changed by kind; None takes the fact away."""
    out = []
    for entry in base.rules[RULE].cases.fires.facts:
        for kind, props in entry.items():
            if changes.get(kind, {}) is not None:
                out.append({"kind": kind, **props, **(changes.get(kind) or {})})
    return out


def why(base: RuleBase, given: list[dict[str, Any]], rule: str = RULE) -> str:
    rules = CompiledRules(base, "plain")
    try:
        advise = rule.split("/")[0] in ("caution", "prompt")
        return next(c.text for c in rules.considered(given, "shelter", advise=advise) if c.rule.id == rule)
    finally:
        rules.close()


def test_what_fired_says_so(base: RuleBase) -> None:
    assert why(base, facts(base)) == "It fired."


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"section": {"groups_last": 3}}, "It needs “groups in the last run” to be at least 4; it is 3."),
        ({"section": {"groups_last": None}}, "It needs “groups in the last run” to be at least 4; it is not known."),
        (
            {"section": {"direction": "easier"}},
            "It needs “the direction that the ask resolves to” to be harder; it is easier.",
        ),
        (
            {"criterion": {"surplus_order": 2}},
            "It needs “1 is the criterion with most to spare” (carrying the weight) to be 1; it is 2.",
        ),
        (
            {"criterion": {"passed": None}},
            "It needs “groups that met it” (carrying the weight) to be known; it is not.",
        ),
        ({"criterion": {"name": "dry"}}, "It needs the criterion “carrying the weight”, and there is none."),
        ({"criterion": None}, "It needs the criterion “carrying the weight”, and there is none."),
        (
            {"now": {"load_positions": 3}},
            "It needs “spots where the weight is tested” to be less than 3 spots; it is 3 spots.",
        ),
        ({"now": None}, "It needs a now that it could be about, and there is none."),
    ],
)
def test_the_first_condition_that_failed(base: RuleBase, changes: dict[str, Any], said: str) -> None:
    assert why(base, facts(base, **changes)) == said


def test_what_holds_it_off_is_named(base: RuleBase) -> None:
    near = {"kind": "criterion", "name": "load", "one_short_share": 0.4}
    given = [*facts(base, criterion={"one_short_share": 0.4}), near | {"name": "dry"}]
    assert why(base, given) == ("It is held off, because there is the finding “near miss” about “carrying the weight”.")


def test_every_word_that_would_do_is_said(base: RuleBase) -> None:
    given = [{"kind": "criterion", "name": "entry", "one_short_share": 0.9}]
    said = "It needs the criterion “carrying the weight” or “keeping the figures dry”, and there is none."
    assert why(base, given, "derive/near_miss") == said


def test_a_finding_that_was_not_made(base: RuleBase) -> None:
    assert why(base, [], "prompt/one_short") == "It needs the finding “near miss”, and there is none."


def test_nothing_about_supports_is_told(base: RuleBase, tmp_path: Path) -> None:
    """Nor about the other tests of such a rule: that one of them failed would tell that the support is there."""
    folder = shutil.copytree(Path(__file__).parent / "small", tmp_path / "rules")
    file = folder / "limit" / "no_tester_in_k_2.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace("band: {is: K-2}", "need_fine_motor: {is: true}, band: {is: K-2}").replace(
            "section: {band: K-2}", "section: {band: K-2, need_fine_motor: true}"
        ),
        encoding="utf-8",
    )
    changed = load_rule_base(folder)
    for need, band in ((True, "3-5"), (False, "K-2"), (None, "K-2")):
        section = {"kind": "section", "need_fine_motor": need, "band": band}
        assert why(changed, [section], "limit/no_tester_in_k_2") == "It is about an access need."
