"""What is told about a ladder: reasons from rules, new demands with standards, what to mend."""

from __future__ import annotations

from itertools import pairwise

import pytest

from rungwright.domain.ladder import Ladder
from rungwright.ladders.frame import frame
from rungwright.ladders.report import report
from rungwright.ladders.steps import newly_asked
from rungwright.recommend.problem import RequestProblem


def changed(ladder: Ladder, rung_id: str, **settings) -> Ladder:
    rungs = [
        r.model_copy(update={"settings": {**r.settings, **settings}}) if r.id == rung_id else r for r in ladder.rungs
    ]
    return ladder.model_copy(update={"rungs": rungs})


def kinds(ladder: Ladder, rules, *, must: bool) -> set[tuple[str, str]]:
    return {(p.kind, p.rung) for p in report(ladder, rules).problems if p.must == must}


def test_applying_the_changes_gives_the_rung_above(ladder, rules):
    told = report(ladder, rules).rungs
    for below, above in pairwise(told):
        settings = {s.lever: s.value for s in below.settings}
        assert all(settings[c.lever] == c.from_ for c in above.changes)
        settings |= {c.lever: c.to for c in above.changes}
        assert settings == {s.lever: s.value for s in above.settings}


def test_each_step_says_what_it_newly_asks_with_a_standard_of_its_band(ladder, rules):
    told = report(ladder, rules).rungs
    demands = [rung.new_demand.text for rung in told]
    assert len(set(demands)) == len(demands) and all(demands)
    codes = {rung.new_demand.standard.code.split("-ETS")[0] for rung in told}
    assert codes == {"K-2", "3-5", "MS", "HS"}
    for rung in told[1:]:
        assert rung.new_demand.lever == rung.changes[0].lever
        assert all(change.asks and change.reason.text and change.basis for change in rung.changes)
        assert [c.demand for c in rung.changes] == sorted((c.demand for c in rung.changes), reverse=True)


def test_reasons_come_from_rules_that_fired_and_quote_their_facts(ladder, rules):
    by_rule = [c for rung in report(ladder, rules).rungs for c in rung.changes if c.rule]
    assert len(by_rule) >= 5
    for change in by_rule:
        rule = rules.base.rules[change.rule.id]
        assert rule.propose.lever == change.lever
        assert change.reason.evidence
        assert "%" not in change.reason.text


def test_the_lever_speaks_where_no_rule_does(ladder, rules):
    for rung in report(ladder, rules).rungs:
        for change in rung.changes:
            if change.rule is None:
                whys = [term.why for term in rules.base.levers[change.lever].difficulty]
                assert change.reason.text in whys and change.reason.evidence == []


def test_every_grade_of_the_span_is_suited_by_one_rung_and_older_ones_by_no_gentler(ladder, rules):
    suited = [(grade, rung.number) for rung in report(ladder, rules).rungs for grade in rung.suits.grades]
    assert sorted(g for g, _ in suited) == sorted(g for rung in ladder.rungs for g in rung.grades)
    by_band = {}
    for grade, number in sorted(suited, key=lambda x: ("KG", *(f"{n:02d}" for n in range(1, 13))).index(x[0])):
        band = next(
            b
            for b, tops in (("K-2", "KG 01 02"), ("3-5", "03 04 05"), ("6-8", "06 07 08"), ("9-12", ""))
            if grade in tops or not tops
        )
        by_band.setdefault(band, []).append(number)
    assert all(numbers == sorted(numbers) for numbers in by_band.values())


def test_a_broken_limit_and_a_failed_check_must_be_mended(ladder, rules):
    assert ("limit", "r1") in kinds(changed(ladder, "r1", load_positions=2), rules, must=True)
    starved = ladder.model_copy(update={"usual": ladder.usual.model_copy(update={"materials": []})})
    assert {("check", rung.id) for rung in ladder.rungs} <= kinds(starved, rules, must=True)


def test_an_order_that_falls_must_be_mended_and_an_uneven_step_is_worth_a_look(ladder, rules):
    r2, r3 = ladder.rung("r2").settings, ladder.rung("r3").settings
    assert ("order", "r3") in kinds(changed(ladder, "r3", **r2), rules, must=True)
    nearly = changed(ladder, "r3", **{**r2, "wind_sides": r3["wind_sides"]})
    assert ("step", "r3") in kinds(nearly, rules, must=False)


def test_too_many_changes_and_steps_back_are_worth_a_look(ladder, rules):
    back = changed(ladder, "r5", rain_from="above", load_positions=3, load_place="tester", rigid_pieces=3)
    found = kinds(back, rules, must=False)
    assert {("changes", "r5"), ("demand_falls", "r5")} <= found


def test_a_change_that_asks_hardly_more_and_a_name_that_stands_twice_are_worth_a_look(ladder, rules):
    lower = {"figure_standing": "lying"}
    told = report(changed(changed(ladder, "r1", **lower), "r2", figure_standing="base_given"), rules)
    (problem,) = [p for p in told.problems if "hardly anything more" in p.text]
    assert (problem.kind, problem.rung, problem.must) == ("changes", "r2", False)
    assert problem.text.startswith("How figures must stand: standing on a ready base instead of lying down: by itself")
    twice = [r.model_copy(update={"name": "Two spots"}) for r in ladder.rungs]
    twice = ladder.model_copy(update={"rungs": [*twice[:2], *ladder.rungs[2:]]})
    assert ("name", "r2") in kinds(twice, rules, must=False) - kinds(ladder, rules, must=False)


@pytest.mark.parametrize(
    ("here", "to", "asks"),
    [
        (12, 8, "Choose a form that stands on few sticks"),
        (20, 14, "Decide where a stick does most"),
        (14, 9, "Decide where a stick does most"),
        (8, 12, None),
        (3, 3, None),
    ],
)
def test_a_step_between_two_settings_asks_what_was_passed_or_lies_ahead(here, to, asks, rules):
    made = frame("shelter", rules, "metric", "/challenge")
    told = newly_asked(made, "rigid_pieces", here, to)
    assert told.text.startswith(asks) if asks else told is None


def test_beyond_what_the_plan_says_the_change_itself_is_what_is_asked(ladder, rules):
    rung = report(changed(ladder, "r6", **{**ladder.rung("r5").settings, "figure_count": 6}), rules).rungs[5]
    assert rung.new_demand.text == "Figures to shelter: 6 figures instead of 5 figures."
    assert (rung.new_demand.lever, rung.new_demand.standard) == ("figure_count", None)


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"challenge": "sheltr"}, "/ladder/challenge"),
        ({"same": {}}, "/ladder/same"),
        ({"scale_grade": "06", "usual": {"tools": ["scisors"]}}, "/ladder/usual/tools/0"),
    ],
)
def test_a_document_with_unknown_names_is_told_at_its_field(fields, pointer, ladder, rules):
    document = {**ladder.model_dump(mode="json"), **fields}
    with pytest.raises(RequestProblem) as caught:
        report(Ladder.model_validate(document), rules)
    assert caught.value.problems[0].pointer == pointer


def test_what_climbs_stands_on_every_rung(ladder, rules):
    lacking = {k: v for k, v in ladder.rung("r2").settings.items() if k != "entry"}
    rungs = [r.model_copy(update={"settings": lacking}) if r.id == "r2" else r for r in ladder.rungs]
    with pytest.raises(RequestProblem, match="/ladder/rungs/1/settings: entry climbs, so every rung sets it"):
        report(ladder.model_copy(update={"rungs": rungs}), rules)
