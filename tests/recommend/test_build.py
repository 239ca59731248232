"""All checks of one answer describe one build, and the answer carries its sizes."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.recommendation import After, Recommendation
from rungwright.measure.forms import forms
from rungwright.measure.room import figures_in
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base
from tests.recommend.cases import requests

RULES = CompiledRules(load_rule_base(default_folder()))
EXAMPLE = default_folder().parent / "examples/grade_4_harder/answer.json"
FORMS = {form.id: form for form in forms()}
THICK = st.one_of(st.none(), st.fixed_dictionaries({"stick_thickness_mm": st.lists(st.floats(0.7, 3), min_size=1)}))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(asked=requests(), measured=THICK)
def test_every_check_is_of_the_build_that_is_told(asked, measured):
    if measured:
        measured = {"stick_thickness_mm": measured["stick_thickness_mm"][:20]}
    asked = {**asked, "section": {**asked["section"], "measured": measured}}
    answer = recommend(RecommendationRequest.model_validate(asked), RULES)
    for half in (answer.before, answer.after):
        if half.build is None:
            continue
        build, form = half.build, FORMS[half.build.form]
        numbers = {check.kind: check.numbers for check in half.checks}
        assert numbers["load"]["form"] == build.form
        assert (numbers["load"]["sticks_needed"], numbers["load"]["sheets_needed"]) == (form.rigid, form.sheets)
        assert numbers["wind"]["face_cm2"] == pytest.approx(max(build.width_mm, build.depth_mm) * 1.12, abs=0.06)
        assert numbers["rain"]["roof_cm2"] == pytest.approx(form.roof_area_cm2, abs=0.06)
        room = numbers["room"]
        inside = (build.inside_width_mm, build.inside_depth_mm, build.headroom_mm)
        assert inside == (room["floor_width_mm"], room["floor_depth_mm"], room["headroom_mm"])
        fits = figures_in(form, half.settings["room_each"], figure_height_mm=75)
        assert len(build.figures) == min(half.settings["figure_count"], fits) and room["fits"] == fits
        assert len(build.spots) == half.settings["load_positions"]
        assert build.entry.setting == half.settings["entry"]


def test_an_answer_that_was_kept_before_the_build_was_told_is_read():
    old = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    for half in ("before", "after"):
        del old[half]["build"]
    read = Recommendation.model_validate_json(json.dumps(old), by_alias=True)
    assert read.after.build is None
    # A new one always has it, and the contract says so
    assert "build" in After.model_json_schema(mode="serialization")["required"]
