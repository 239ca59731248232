"""Invented schools: the same again from the same seed, truth as it is drawn, scores as they are counted."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.section import Section
from rungwright.measure.columns import columns
from rungwright.readiness.outcome import share_all
from rungwright.readiness.posterior import posterior
from rungwright.recommend.model import checks_of, parts_of, versions_of, zero_of
from rungwright.recommend.resolve import resolve
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base
from rungwright.simulate.bounds import bounds
from rungwright.simulate.classes import draw_class
from rungwright.simulate.play import BAND, Lesson, Sizes, play, scores
from rungwright.simulate.report import BOUNDS, HONEST, TEACHERS, plot, table
from rungwright.simulate.teachers import NeverChanges, RuleOfThumb, SameChange, stepped
from rungwright.simulate.worlds import WORLDS, draw_school

RULES = CompiledRules(load_rule_base(default_folder()))


def some_class(world="as_assumed", *, seed=3, weeks=4):
    rng = np.random.default_rng(seed)
    section = Section(label="any", grades=["04"], students=24, group_size=3, sessions=[{"minutes": 60}])
    case = resolve(RecommendationRequest(challenge="shelter", section=section), RULES)
    school = draw_school(WORLDS[world], case.difficulty, case.challenge.readiness, rng)
    return draw_class(school, "shelter", RULES, weeks, rng, 1)


@pytest.fixture(scope="module")
def played():
    return play([WORLDS["as_assumed"], WORLDS["all_off"]], Sizes(1, 3, 2), RULES, learn_every=1)


def test_the_same_seed_plays_the_same_lessons(played):
    again = play([WORLDS["as_assumed"], WORLDS["all_off"]], Sizes(1, 3, 2), RULES, learn_every=1)
    assert again == played
    assert play([WORLDS["as_assumed"]], Sizes(1, 3, 2), RULES, seed=2) != [
        lesson for lesson in played if lesson.world == "as_assumed"
    ]


def test_every_teacher_teaches_every_lesson(played):
    found = scores(played)
    assert set(found) == {(world, teacher) for world in ("as_assumed", "all_off") for teacher in TEACHERS}
    assert {score.lessons for score in found.values()} == {6}
    assert all((score.covered is not None) == (teacher == "recommended") for (_, teacher), score in found.items())


def test_the_first_lesson_of_those_who_know_nothing_is_the_usual_one(played):
    first = {t: [x.true for x in played if (x.world, x.teacher, x.week) == ("as_assumed", t, 0)] for t in TEACHERS}
    assert first["rule_of_thumb"] == first["never_change"]


def test_the_true_share_is_the_share_of_many_groups():
    taught = some_class()
    share = taught.true_share(1, taught.usual)
    met = 0
    for luck in range(400):
        run = replace(taught, seed=luck).teach(1, taught.usual)
        met += sum(all(mark == "yes" for mark in row.end.values()) for row in run.grid)
    assert met / (400 * taught.section.groups) == pytest.approx(share, abs=0.025)


def test_in_the_assumed_world_truth_is_the_models_own():
    taught = some_class()
    cols = columns(taught.case.levers, [{**taught.usual, "load_positions": 2}])
    parts = parts_of(taught.case, cols, checks_of(taught.case, cols))
    model = versions_of(taught.case, cols, parts - zero_of(taught.case))
    assert taught.versions([cols.row(0)]).difficulty == pytest.approx(model.difficulty)
    assert (taught.school.factor == 1).all() and (taught.school.strength == 0).all()


@pytest.mark.parametrize("world", [name for name in WORLDS if name != "as_assumed"])
def test_other_worlds_are_other(world):
    usual, other = some_class().school, some_class(world).school
    assert (
        (other.factor != usual.factor).any()
        or (other.strength != usual.strength).any()
        or other.prior != usual.prior
        or other.growth != usual.growth
    )
    assert (other.factor >= 0).all()


def test_the_rule_of_thumb_goes_the_way_of_the_last_result():
    taught = some_class()
    rule = RuleOfThumb(BAND)
    easy = {name: lever.settings[0] for name, lever in taught.case.levers.items() if lever.kind == "challenge"}
    run = taught.teach(0, taught.usual)
    all_met = run.model_copy(
        update={"grid": [row.model_copy(update={"end": dict.fromkeys(row.end, "yes")}) for row in run.grid]}
    )
    none_met = run.model_copy(
        update={"grid": [row.model_copy(update={"end": dict.fromkeys(row.end, "no")}) for row in run.grid]}
    )
    for last, way in ((all_met, 1), (none_met, -1)):
        changed = {k: v for k, v in rule.plan(taught, [last]).settings.items() if v != taught.usual[k]}
        assert len(changed) == 1
        lever, value = next(iter(changed.items()))
        here = taught.case.levers[lever].position(taught.usual[lever])
        assert way * (taught.case.levers[lever].position(value) - here) > 0
    assert stepped(taught, {**taught.usual, **easy}, "load_positions", -1) is None
    assert (
        SameChange("load_positions", 1, "same_change").plan(taught, []).settings
        != NeverChanges().plan(taught, []).settings
    )


def test_scores_are_counted():
    def lesson(number, true, low=0.6, high=0.9):
        return Lesson("as_assumed", "recommended", 0, number, 0, true, low, high)

    score = scores([lesson(0, 0.8), lesson(1, 0.95), lesson(2, 0.4), lesson(3, 0.7)])["as_assumed", "recommended"]
    assert (score.lessons, score.in_band, score.below_half, score.covered) == (4, 0.5, 0.25, 0.5)
    low, high = score.in_band_sure
    assert 0 < low < 0.5 < high < 1


def test_lessons_of_one_class_that_are_alike_count_as_few():
    def lessons(alike):
        return [
            Lesson("as_assumed", "never_change", 0, c, w, 0.8 if (c if alike else w) % 2 else 0.5, None, None)
            for c in range(10)
            for w in range(10)
        ]

    narrow, wide = (scores(lessons(alike))["as_assumed", "never_change"].in_band_sure for alike in (False, True))
    assert wide[1] - wide[0] > 2 * (narrow[1] - narrow[0])


def test_the_report_tells_every_score_and_who_judges(played):
    found = scores(played)
    lines = table(found)
    assert len(lines) == 2 + len(found)
    assert "The model judges itself" in HONEST
    root = ElementTree.fromstring(plot(found))
    said = root.find("{http://www.w3.org/2000/svg}desc").text
    assert HONEST in said
    for (_, teacher), score in found.items():
        assert f"{TEACHERS[teacher]} {score.in_band:.2f}" in said


@pytest.mark.parametrize("grade", ["01", "04", "07"])
def test_the_usual_version_of_a_band_lands_where_its_presets_were_made_for(grade):
    """Two lessons, middle of the band: .77 of groups by the end, .74 where figures must stand; starting guesses."""
    section = Section(label="any", grades=[grade], students=24, group_size=3, sessions=[{"minutes": 60}] * 2)
    case = resolve(RecommendationRequest(challenge="shelter", section=section), RULES)
    cols = columns(case.levers, [case.preset])
    versions = versions_of(case, cols, parts_of(case, cols, checks_of(case, cols)) - zero_of(case))
    prior = case.challenge.readiness
    share = share_all(prior, posterior(prior, 0.0, len(case.criteria), []), versions)[0]
    assert share == pytest.approx(0.74 if versions.counts[0, case.criteria.index("stand")] else 0.77, abs=0.05)


def test_those_that_know_more_land_more():
    classes = [some_class(seed=seed, weeks=2) for seed in range(4)]
    landed = {}
    for bound in bounds(BAND):
        true = []
        for taught in classes:
            first = taught.teach(0, taught.usual)
            true.append(taught.true_share(1, bound.plan(taught, [first]).settings))
        landed[bound.name] = np.abs(np.array(true) - 0.8)
    assert (landed["knows_all"] < 0.1).all()
    assert landed["knows_all"].mean() < landed["knows_past"].mean() < landed["knows_results"].mean()


def test_the_bounds_are_played_where_asked():
    found = scores(play([WORLDS["as_assumed"]], Sizes(1, 2, 1), RULES, learn_every=None, with_bounds=True))
    assert {teacher for _, teacher in found} == {*TEACHERS, *BOUNDS}
    assert all(BOUNDS[name] in "".join(table(found)) for name in BOUNDS)
