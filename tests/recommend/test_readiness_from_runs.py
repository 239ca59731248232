"""What earlier runs of this and of other challenges do to an answer."""

import json

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import RequestProblem, recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
REQUEST = json.loads((default_folder().parent / "examples/grade_4_fit/request.json").read_text())


def answer(**changes):
    return recommend(RecommendationRequest.model_validate({**REQUEST, **changes}), RULES)


def run(met=9, groups=9, **changes):
    results = [{"criterion": c, "first": {"met": met, "of": groups}} for c in ("wind", "dry", "load")]
    return {
        "challenge": "shelter",
        "settings": {},
        "on": "2026-10-14",
        "groups": groups,
        "results": results,
        **changes,
    }


def other(family):
    """A challenge of the school's own, alike in all but its name and family."""
    whole = RULES.base.challenges["shelter"].model_dump(mode="json")
    return {**whole, "id": "own_refuge", "family": family}


def share(a):
    return a.before.expected.all_criteria


def test_flagged_runs_do_not_teach():
    assert share(answer(runs=[run(flags=["interrupted"])])) == share(answer(runs=[]))


def test_runs_of_another_challenge_count_for_less_and_that_is_said():
    none, here = share(answer(runs=[])), share(answer(runs=[run()]))
    near = answer(challenge=other("shelter"), runs=[run()])
    assert none.share < share(near).share < here.share
    assert near.section.evidence == "none"
    assert "one run of another challenge, which counts for less" in near.summary.evidence


def test_its_own_runs_and_others_are_told_apart():
    both = answer(challenge=other("shelter"), runs=[run(), run(challenge="own_refuge", on="2026-11-14")])
    assert both.summary.evidence.startswith("Based on one earlier run with 9 groups")
    assert both.summary.evidence.endswith("One run of another challenge counts for less.")


def test_a_run_of_an_unknown_challenge_is_refused_at_its_field():
    with pytest.raises(RequestProblem) as refused:
        answer(runs=[run(challenge="sheltr")])
    assert refused.value.problems[0].pointer == "/runs/0/challenge"
    assert "did you mean 'shelter'" in refused.value.problems[0].detail


@pytest.mark.parametrize("met", [0, 9])
def test_all_passed_and_all_failed_move_one_notch(met):
    a = answer(runs=[run(met)], ask={"direction": "fit"})
    if a.proposals:
        assert abs(sum(p.effect.demand for p in a.proposals)) < 0.95
    ask = {"direction": "harder" if met else "easier", "notches": 3}
    three = answer(runs=[run(met)], ask=ask)
    text = recommend(
        RecommendationRequest.model_validate({**REQUEST, "runs": [run(met)], "ask": ask, "include": ["explanation"]}),
        RULES,
    ).explanation.target
    assert text.startswith("A change of demand of 0.2 to 0.7")
    assert abs(sum(p.effect.demand for p in three.proposals)) < 0.95


@pytest.mark.parametrize(("high", "direction"), [(0.86, "harder"), (0.96, "none")])
def test_near_an_edge_fit_moves_once_there_is_a_run(high, direction):
    a = answer(runs=[run(9)], ask={"direction": "fit", "band": [0.7, high]})
    assert 0.8 < share(a).share < high
    assert a.resolved_direction == direction
    assert ("near the easy edge of what you aim for" in a.summary.headline) == (direction == "harder")


def test_near_an_edge_without_a_run_fit_leaves_it_alone():
    low = share(answer(runs=[])).share - 0.005
    a = answer(runs=[], ask={"direction": "fit", "band": [low, low + 0.2]})
    assert a.resolved_direction == "none" and not [p for p in a.proposals if p.kind == "challenge"]


@pytest.mark.parametrize(("met", "band"), [(3, (0.4, 0.6)), (5, (0.5, 0.7)), (6, (0.7, 0.9))])
def test_fit_that_moves_lands_inside_the_band_and_not_at_its_edge(met, band):
    a = answer(runs=[run(met)], ask={"direction": "fit", "band": list(band)})
    assert a.resolved_direction == "easier" and a.reached
    assert band[0] + 0.03 <= a.after.expected.all_criteria.share <= band[1] - 0.03
