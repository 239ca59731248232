"""What holds for every answer, on random sections. One test an invariant, named as in the developers' guide."""

import json
import re

import pytest
from hypothesis import HealthCheck, given, settings

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base
from rungwright.rulebase.words import number

from .cases import requests

RULES = CompiledRules(load_rule_base(default_folder()))
LEVERS = RULES.base.levers
many = settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
HARD = ("load", "room", "time", "kit", "adults")


def answer(request, **changes):
    return recommend(RecommendationRequest.model_validate({**request, **changes}), RULES)


def without_time(result):
    return result.model_dump(mode="json", exclude={"created_at"})


@many
@given(requests())
def test_proposals_lead_from_the_start_settings_to_the_settings_after(request):
    a = answer(request)
    assert len({p.lever for p in a.proposals}) == len(a.proposals) <= 3
    settings_after = dict(a.before.settings)
    for p in a.proposals:
        assert p.from_ == a.before.settings[p.lever]
        assert LEVERS[p.lever].accepts(p.to) and p.to != p.from_
        settings_after[p.lever] = p.to
    assert settings_after == a.after.settings


@many
@given(requests())
def test_challenge_proposals_never_go_against_the_ask_and_practical_ones_change_no_share(request):
    a = answer(request)
    sign = {"harder": 1, "easier": -1, "none": 0}[a.resolved_direction]
    for p in a.proposals:
        change = p.effect.share_after - p.effect.share_before
        assert p.kind != "access"
        assert (sign * change <= 1e-4) if p.kind == "challenge" else (abs(change) <= 1e-4)
        assert p.kind != "challenge" or sign != 0
    shares = a.before.expected.all_criteria.share, a.after.expected.all_criteria.share
    assert sign * (shares[1] - shares[0]) <= 1e-4


@many
@given(requests())
def test_no_hard_check_newly_fails(request):
    a = answer(request)
    before = {c.kind: c.verdict.value for c in a.before.checks}
    for check in a.after.checks:
        if check.kind in HARD and check.verdict.value == "not_feasible":
            assert before[check.kind] == "not_feasible"


@many
@given(requests())
def test_equal_requests_give_equal_answers_whatever_the_order_of_lists(request):
    a = answer(request)
    section = dict(request["section"])
    if "materials" in section:
        section["materials"] = section["materials"][::-1]
    runs = [{**run, "results": run["results"][::-1]} for run in request["runs"]]
    assert without_time(answer(request, section=section, runs=runs)) == without_time(a)


@many
@given(requests())
def test_every_number_in_a_reason_stands_in_its_evidence_or_in_the_move(request):
    for p in answer(request).proposals:
        known = {str(e.value) for e in p.reason.evidence} | {
            number(e.value) for e in p.reason.evidence if type(e.value) is float
        }
        known |= set(re.findall(r"\d+(?:\.\d+)?", f"{p.from_text} {p.to_text}"))
        for said in re.findall(r"\d+(?:\.\d+)?", p.reason.text):
            assert said in known, (p.reason.text, known)
        assert "%" not in p.reason.text and not re.search(r"\bshare\b|percent", p.reason.text)


@many
@given(requests())
def test_no_pinned_lever_moves(request):
    assert not {p.lever for p in answer(request).proposals} & set(request["ask"]["pinned"])


@many
@given(requests())
def test_limits_of_the_youngest_hold_in_every_answer(request):
    if request["section"]["grades"][0] not in ("KG", "01", "02"):
        return
    a = answer(request)
    assert a.after.settings["load_place"] not in ("tester", "drawn")
    for word in ("skewer", "toothpick", "hot glue", "craft knives"):
        assert word not in json.dumps([item.label for item in a.kit.items] + a.brief.kit)


@many
@given(requests())
def test_no_support_shows_in_reasons_brief_prompts_or_held_back(request):
    a = answer(request)
    shown = json.dumps(
        [
            [p.reason.model_dump(mode="json") for p in a.proposals],
            a.brief.model_dump(mode="json"),
            [p.model_dump(mode="json") for p in a.prompts],
            [h.model_dump(mode="json") for h in a.held_back],
        ]
    ).lower()
    for word in ("fine motor", "fine_motor", "need_", "may_mouth", "sensory"):
        assert word not in shown


def test_a_grade_4_section_asked_for_harder_gets_what_a_good_teacher_would_change():
    request = json.loads((default_folder().parent / "examples/grade_4_harder/request.json").read_text())
    a = answer(request)
    assert 1 <= len(a.proposals) <= 3
    assert {p.lever for p in a.proposals} & {"rigid_pieces", "load_positions", "figure_count", "figure_standing"}
    assert all(p.reason.evidence for p in a.proposals)


@pytest.mark.parametrize("direction", ["easier", "fit", "harder"])
def test_a_lesson_of_30_minutes_says_that_it_does_not_fit_and_what_would_help(direction):
    request = json.loads((default_folder().parent / "examples/short_lesson/request.json").read_text())
    a = answer(request, ask={"direction": direction})
    time = next(c for c in a.before.checks if c.kind == "time")
    assert time.verdict.value == "not_feasible" and any("station" in m for m in time.mend)
    assert "does not fit" in a.summary.headline
