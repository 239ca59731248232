"""What a section measured is used by its checks, moves what is expected, and is told where it was used."""

from __future__ import annotations

import json
import math

import pytest
from pydantic import ValidationError

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.readings import Readings
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
REQUEST = json.loads((default_folder().parent / "examples/grade_4_harder/request.json").read_text())


def answer(measured: dict | None = None, *, settings: dict | None = None, **section) -> Recommendation:
    of = {**REQUEST["section"], **section, **({"measured": measured} if measured is not None else {})}
    request = {**REQUEST, "section": of, "settings": settings or {}}
    return recommend(RecommendationRequest.model_validate(request), RULES)


def told(answer: Recommendation, kind: str):
    return next(c for c in answer.before.checks if c.kind == kind)


def test_thin_sticks_are_drawn_otherwise_and_fewer_groups_are_expected():
    usual, thin = answer(), answer({"stick_thickness_mm": [0.8, 0.9]})
    # Posts of such sticks buckle, so the plainest build that clearly holds is one on rolls of paper
    assert usual.before.build.kind == "stick_frame" and thin.before.build.kind == "rolled_posts"
    assert thin.before.expected.all_criteria.share < usual.before.expected.all_criteria.share
    for each in (usual, thin):
        assert told(each, "load").numbers["form"] == each.before.build.form
        assert told(each, "room").numbers["floor_width_mm"] == each.before.build.inside_width_mm


def test_what_was_measured_is_told_where_it_was_used():
    shown = answer({"stick_thickness_mm": [1.85, 1.95], "stroke_ml": [0.95], "friction": [0.364, 0.424]})
    assert told(shown, "load").text.endswith(
        "Worked out for sticks of 1.85 to 1.95 mm (0.073 to 0.077 in), as you measured."
    )
    assert "10 strokes of 0.95 ml, as you measured, in a minute" in told(shown, "rain").text
    assert "By the friction you measured the 20 g (0.7 oz) box begins to move at" in told(shown, "wind").text
    assert told(shown, "load").text in [c.text for c in shown.before.checks]
    assert "as you measured" not in "".join(c.text for c in answer().before.checks)
    # Sticks say nothing of a build of paper, nor paper of one of sticks
    paper = {"paper_thickness_mm": [0.1], "stick_thickness_mm": [1.9]}
    soft = told(answer(paper, settings={"rigid_pieces": 0}), "load").text
    assert soft.endswith("Worked out for paper of 0.1 mm (0.004 in), as you measured.")


def test_rain_by_the_strokes_there_are():
    # Derived: 10 x 0.5 ml on 118 x 118 mm: 0.359 mm in a minute, 21.5 mm/h
    numbers = told(answer({"stroke_ml": [0.5]}), "rain").numbers
    assert numbers["depth_mm_low"] == numbers["depth_mm_high"] == 0.36
    assert numbers["rate_mm_h"] == pytest.approx(10 * 0.5 * 1000 / 118**2 * 60, abs=0.05)


@pytest.mark.parametrize(
    ("wind", "said"), [([6.0], "move the fan back"), ([1.0], "nearer"), ([2.4, 2.6], "near where you measured")]
)
def test_the_fan_against_the_box(wind, said):
    check = told(answer({"friction": [0.3], "wind_m_s": wind}), "wind")
    # Derived: 20 g on 150 x 110 mm, friction .3, drag 1.3 and 1.0: sqrt(.3 x .1962 / (.6125 x Cd x .0165))
    ends = [math.sqrt(0.3 * 0.02 * 9.81 / (0.6125 * drag * 0.0165)) for drag in (1.3, 1.0)]
    assert [check.numbers["box_moves_from_m_s"], check.numbers["box_moves_by_m_s"]] == pytest.approx(ends, abs=0.005)
    assert said in check.text
    assert check.verdict == told(answer(), "wind").verdict


def test_the_weight_that_there_is_is_the_start():
    shown = answer({"weight_g": 509.4})
    assert shown.before.settings["load_mass_g"] == 509
    assert next(a for a in shown.before.adjusted if a.lever == "load_mass_g").why == (
        "You measured your weight: 509 g (18 oz)."
    )
    assert told(shown, "load").numbers["weight_g"] == 509
    # What the caller sets stays; a limit of the band holds; a weight that no lever takes is told
    assert answer({"weight_g": 509}, settings={"load_mass_g": 250}).before.settings["load_mass_g"] == 250
    young = answer({"weight_g": 509}, grades=["01"])
    assert young.before.settings["load_mass_g"] == 370
    heavy = answer({"weight_g": 2000})
    assert heavy.before.settings["load_mass_g"] == 370
    assert any("The weight you measured, 2000 g (71 oz)" in text for text in heavy.assumptions)


def test_the_order_of_readings_changes_nothing_and_what_is_not_measured_neither():
    one, other = (answer({"friction": f}) for f in ([0.4, 0.3, 0.35], [0.3, 0.4]))
    assert one.id == other.id != answer().id
    assert answer({}).before == answer().before
    same = {**answer({}).model_dump(), "id": "", "created_at": ""}
    assert {k for k, v in {**answer().model_dump(), "id": "", "created_at": ""}.items() if v != same[k]} <= {
        "proposals"  # their ids follow the answer's
    }


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"stick_thickness_mm": [19]}, ("stick_thickness_mm", 0)),
        ({"stick_thickness_mm": 1.9}, ("stick_thickness_mm",)),
        ({"stick_thickness_mm": []}, ("stick_thickness_mm",)),
        ({"stick_thickness_mm": ["1.9 mm"]}, ("stick_thickness_mm", 0)),
        ({"stick_thickness_in": [0.07]}, ("stick_thickness_in",)),
        ({"friction": [float("nan")]}, ("friction", 0)),
        ({"weight_g": -1}, ("weight_g",)),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(wrong, where):
    with pytest.raises(ValidationError) as error:
        Readings.model_validate(wrong)
    assert error.value.errors()[0]["loc"] == where


def test_fewer_stiff_pieces_change_the_share_through_the_load_check():
    from rungwright.recommend.measuring import measure
    from rungwright.recommend.model import build_model
    from rungwright.recommend.resolve import resolve

    case = resolve(RecommendationRequest.model_validate(REQUEST), RULES)
    model = build_model(case, case.preset)
    here = measure(case, model, case.preset, [{"rigid_pieces": n} for n in (12, 5, 0)])
    by_margin = [i for i, w in enumerate(case.difficulty.weights) if w.term and w.term.check == "load"]
    added = here.moved[:, by_margin[0]]
    # height ln(1 + (at / M)^power), less that of the preset
    term, m = case.difficulty.weights[by_margin[0]].term, here.build.load.typical_margin
    by_hand = term.height * (
        math.log(1 + (term.at / m[2]) ** term.power) - math.log(1 + (term.at / m[0]) ** term.power)
    )
    assert m[0] == m[1] > m[2], "five sticks still make a form as good; none do not"
    assert added[:2] == pytest.approx(0) and added[2] == pytest.approx(by_hand) and by_hand > 0.3
    # Without that weight the share falls by less
    kept = here.moved.copy()
    kept[:, by_margin] = 0
    difficulty = case.difficulty.base + case.difficulty.moved(kept)
    load = case.criteria.index("load")
    assert (
        here.versions.difficulty[2, load] - here.versions.difficulty[0, load]
        > difficulty[2, load] - difficulty[0, load]
    )
    assert here.share[2] < here.share[1] < here.share[0]
