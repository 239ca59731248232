"""Answers of alike requests have one id; ranges widen away from the preset."""

import json

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import begun, recommend
from rungwright.recommend.measuring import measure
from rungwright.recommend.model import build_model
from rungwright.recommend.resolve import resolve
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
REQUEST = json.loads((default_folder().parent / "examples/grade_4_harder/request.json").read_text())


def request(**changes):
    return RecommendationRequest.model_validate({**REQUEST, **changes})


def test_a_challenge_given_whole_is_the_same_as_by_its_id():
    whole = RULES.base.challenges["shelter"].model_dump(mode="json")
    assert recommend(request(challenge=whole), RULES).id == recommend(request(), RULES).id


def test_a_changed_challenge_has_another_id():
    whole = RULES.base.challenges["shelter"].model_dump(mode="json")
    whole["readiness"]["group_sd"] = 0.9
    assert recommend(request(challenge=whole), RULES).id != recommend(request(), RULES).id


@pytest.mark.parametrize("units", ["metric", "us"])
def test_what_is_remembered_of_a_section_changes_no_answer(units):
    """Whatever was asked about it before, and in whichever units."""
    asks = [
        {"direction": d, "pinned": pinned} for d in ("fit", "harder", "easier") for pinned in ([], ["rigid_pieces"])
    ]

    def fresh(**changes):
        begun._begin.cache_clear()
        return recommend(request(**changes), RULES).model_dump(exclude={"created_at"})

    expected = [fresh(ask=ask, units=units, include=["kit", "timetable"]) for ask in asks]
    begun._begin.cache_clear()
    recommend(request(units="both"), RULES)
    for ask, answer in zip(asks, expected, strict=True):
        assert (
            recommend(request(ask=ask, units=units, include=["kit", "timetable"]), RULES).model_dump(
                exclude={"created_at"}
            )
            == answer
        )
    assert begun._begin.cache_info().misses == 2


def test_another_section_or_other_weights_are_never_answered_from_what_is_remembered():
    section = {**REQUEST["section"], "students": 26}
    seen = {recommend(request(**changes), RULES).before.expected.all_criteria.share for changes in ({}, {"runs": []})}
    assert len(seen) == 2
    assert recommend(request(section=section), RULES).section.students == 26
    begun._begin.cache_clear()
    for rules in (RULES, RULES.with_weights(None)):
        recommend(request(), rules)
    assert begun._begin.cache_info().misses == 2


def test_the_effect_is_sure_at_the_preset_and_less_sure_the_further_from_it():
    case = resolve(request(), RULES)
    model = build_model(case, case.preset)

    def effect_sd(**changes):
        measured = measure(case, model, case.preset, [changes])
        return case.difficulty.spread(measured.moved)[0]

    assert not effect_sd().any()
    load = case.criteria.index("load")
    near = effect_sd(load_positions=2)[load]
    far = effect_sd(load_positions=3, load_place="tester")[load]
    # Half of a step of .55 (`rules/levers/load_positions.yaml`); a second spot leaves the centre margin as it is.
    assert near == 0.5 * 0.55
    assert far > near
