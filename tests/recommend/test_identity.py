"""Answers of alike requests have one id; ranges widen away from the preset."""

import json

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
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
