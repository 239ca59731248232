"""Every drafted ladder keeps what a ladder must keep between neighbouring rungs."""

from __future__ import annotations

import json

import numpy as np
import pytest

from rungwright.domain.ladder_request import LadderDraftRequest
from rungwright.ladders.climb import LEAST_CHANGE, SMALL_STEP, STEP
from rungwright.ladders.draft import NOW, draft
from rungwright.ladders.drawing import Drawing
from rungwright.ladders.report import checked, report
from rungwright.recommend.measuring import HARD
from rungwright.recommend.problem import RequestProblem
from tests.ladders.conftest import AROUND_4B, FULL, NEARLY_EMPTY, REQUESTS, SOFT

NAMES = pytest.mark.parametrize("name", REQUESTS)


def request_of(**fields) -> LadderDraftRequest:
    return LadderDraftRequest.model_validate({"challenge": "shelter", **fields})


def steps(ladder):
    return list(zip(ladder.rungs, ladder.rungs[1:], strict=False))


SMALL = ("K to 5", "around 4B")
"""Drafts whose steps may be small: even ones would give two or three rungs, or fewer than were asked."""


@NAMES
def test_steps_are_even_and_demand_always_grows(name, drafts, rules):
    c = checked(drafts[name].ladder, rules, "metric")
    grown = np.diff(c.demand)
    told = any("small steps" in note for note in drafts[name].notes)
    least = SMALL_STEP if name in SMALL else STEP[0]
    assert (grown >= least - 1e-6).all() and (grown <= STEP[1] + 1e-6).all()
    assert told == (grown < STEP[0] - 1e-6).any(), "small steps are told"


def test_small_steps_are_taken_before_a_ladder_of_two_or_three_rungs(drafts):
    assert len(drafts["K to 5"].ladder.rungs) == 4


def test_no_setting_is_passed_over_where_the_ladder_can_step(drafts, rules):
    """Common practice: sticks get fewer by and by, and few settings are left out on the way up."""
    plan = rules.base.ladders["shelter"]
    for name, most in (("K to 12", 4), ("3 to 5", 1), ("K to 5", 0)):
        passed = 0
        for below, above in steps(drafts[name].ladder):
            for lever, value in above.settings.items():
                domain = plan.climb(lever).settings
                passed += max(domain.index(value) - domain.index(below.settings[lever]) - 1, 0)
        assert passed <= most, name
    assert [r.settings["rigid_pieces"] for r in drafts["K to 12"].ladder.rungs] == [12, 12, 12, 8, 5, 0]


def few_changes(ladder, rules):
    """At most two levers differ between neighbours, each by one or two settings toward harder, one a criterion."""
    plan, levers = rules.base.ladders[ladder.challenge], rules.base.levers
    for below, above in steps(ladder):
        moved = [lever for lever in below.settings if below.settings[lever] != above.settings[lever]]
        assert 1 <= len(moved) <= 2
        criteria = [plan.climb(lever).criterion for lever in moved]
        assert len(set(criteria)) == len(criteria)
        for lever in moved:
            here, there = (levers[lever].position(r.settings[lever]) for r in (below, above))
            between = [s for s in plan.climb(lever).settings if here < levers[lever].position(s) < there]
            assert here < there and len(between) <= 1


@NAMES
def test_few_levers_change_each_toward_harder_and_one_a_criterion(name, drafts, rules):
    few_changes(drafts[name].ladder, rules)


@pytest.mark.parametrize("grades", [("K", "2"), ("3", "5"), ("6", "8"), ("9", "12"), ("K", "12")])
def test_at_most_two_levers_change_in_every_challenge_and_span(grades, rules):
    for challenge in rules.base.ladders:
        ladder = draft(request_of(challenge=challenge, grades=list(grades)), rules).ladder
        few_changes(ladder, rules)
        assert len(ladder.rungs) >= 3


@pytest.mark.parametrize("grade", ["02", "04", "07", "10"])
def test_at_most_two_levers_change_around_a_section(grade, rules):
    section = {**AROUND_4B["section"], "grades": [grade]}
    for challenge in rules.base.ladders:
        made = draft(request_of(challenge=challenge, around={"section": section, "easier": 3, "harder": 3}), rules)
        few_changes(made.ladder, rules)


def test_where_two_changes_make_no_even_step_small_ones_are_taken_and_told(rules):
    """K to 2: the limits of the youngest leave nothing that two changes lift by a whole step."""
    made = draft(request_of(grades=["K", "2"]), rules)
    told = report(made.ladder, rules)
    grown = [rung.step for rung in told.rungs[1:]]
    assert all(0.20 - 1e-6 <= step <= STEP[1] for step in grown) and min(grown) < STEP[0]
    assert made.notes[0].startswith("Within the limits of grades K to 2, two changes a rung make only small steps")
    assert made.notes[1] == "Three rungs are what these steps allow here."
    assert told.sound and {p.kind for p in told.problems} == {"step"}


@NAMES
def test_each_change_by_itself_asks_more(name, drafts, rules):
    for rung in report(drafts[name].ladder, rules).rungs:
        assert all(change.demand >= LEAST_CHANGE - 1e-4 for change in rung.changes), rung.name


@NAMES
def test_no_rung_breaks_a_limit_or_fails_a_check(name, drafts, rules):
    c = checked(drafts[name].ladder, rules, "metric")
    for rung, where, measured in zip(c.ladder.rungs, c.classes, c.measured, strict=True):
        broken = [limit.rule for limit, bad in where.broken(where.columns([rung.settings])) if bad[0]]
        failed = [check for check in HARD if measured.verdict(check, 0) == 2]
        assert (broken, failed) == ([], []), rung.name


@NAMES
def test_the_report_finds_nothing_to_mend(name, drafts, rules):
    assert {p.kind for p in report(drafts[name].ladder, rules).problems} <= ({"step"} if name in SMALL else set())


@NAMES
def test_what_is_the_same_stands_on_no_rung(name, drafts, rules):
    ladder = drafts[name].ladder
    assert set(rules.base.ladders["shelter"].same) <= set(ladder.same)
    assert all(not set(rung.settings) & set(ladder.same) for rung in ladder.rungs)


def test_k_to_12_covers_every_grade_once_on_six_rungs(ladder):
    assert [g for rung in ladder.rungs for g in rung.grades] == ["KG", *(f"{n:02d}" for n in range(1, 13))]
    assert len(ladder.rungs) == 6
    assert len({rung.name for rung in ladder.rungs}) == 6


def test_k_to_12_tells_the_story_of_the_trade(ladder):
    """Common practice: the young find one place, older ones are tested in two; sticks get few; figures must stand."""
    first, last = ladder.rungs[0].settings, ladder.rungs[-1].settings
    assert (first["load_place"], first["load_positions"], first["figure_standing"]) == ("builder", 1, "base_given")
    assert last["load_positions"] >= 2 and last["figure_standing"] == "own_solution" and last["rigid_pieces"] <= 5


def test_sticks_do_not_get_fewer_on_the_way_to_a_rung_of_k_2(drafts):
    for name in ("K to 12", "K to 5", "K to 12, full"):
        for below, above in steps(drafts[name].ladder):
            if "02" in above.grades or "01" in above.grades:
                assert above.settings["rigid_pieces"] == below.settings["rigid_pieces"]


def test_no_rung_needs_more_than_the_cupboard_holds(drafts):
    """40 sticks, a tenth kept back, for eight groups: four each, so three by the settings."""
    assert max(r.settings["rigid_pieces"] for r in drafts["K to 12, nearly empty"].ladder.rungs) <= 4


def test_a_cupboard_without_sticks_closes_the_grades_that_need_some_and_says_so(drafts):
    made = drafts["K to 12, soft only"]
    assert made.ladder.low == "06" and made.ladder.high == "12"
    assert all(rung.settings["rigid_pieces"] == 0 for rung in made.ladder.rungs)
    (note,) = [n for n in made.notes if n.startswith("There is no rung for grades K to 5.")]
    assert "short of stiff pieces (24)" in note


def test_a_cupboard_with_nothing_is_told(rules):
    with pytest.raises(RequestProblem, match="/usual: no grade of the span has a version that passes"):
        draft(request_of(grades=["3", "5"], usual={"materials": []}), rules)


def test_around_a_section_its_version_stands_as_it_is(drafts):
    ladder = drafts["around 4B"].ladder
    (now,) = [rung for rung in ladder.rungs if rung.name == NOW]
    assert now.settings["rigid_pieces"] == 14
    assert now.settings["load_place"] == "marked"
    asked = AROUND_4B["easier"], AROUND_4B["harder"]
    got = ladder.rungs.index(now), len(ladder.rungs) - ladder.rungs.index(now) - 1
    assert got == asked


def test_around_the_gentlest_version_there_is_no_gentler_rung_and_why_is_told(rules):
    section = {"label": "Kestrel K", "grades": ["K"], "students": 14, "group_size": 2, "adults": 2}
    made = draft(request_of(around={"section": {**section, "sessions": [{"minutes": 40}] * 2}}), rules)
    assert made.ladder.rungs[0].name == NOW and len(made.ladder.rungs) == 4
    assert "No gentler rung instead of three: every lever of the ladder is at its gentlest already." in made.notes
    assert any(note.startswith("The harder rungs are small steps, from 0.20") for note in made.notes)


@pytest.mark.parametrize("grade", ["K", "2", "4", "7", "11"])
def test_every_step_around_a_section_reads_as_one(grade, rules):
    """Presets that a plan does not list, and steps that nobody sees, once read "A square each" with nothing asked."""
    section = {**AROUND_4B["section"], "grades": [grade]}
    told = report(draft(request_of(around={"section": section}), rules).ladder, rules)
    names = [rung.name for rung in told.rungs]
    assert len(set(names)) == len(names) > 3
    for change in (change for rung in told.rungs for change in rung.changes):
        assert change.asks and change.standard and change.demand >= LEAST_CHANGE - 1e-4, change.text


def test_where_no_rung_can_stand_beside_a_version_what_is_short_is_told(rules):
    section = {**AROUND_4B["section"], **SOFT}
    with pytest.raises(RequestProblem, match=r"short of stiff pieces .* Ask for easier or harder as a recommendation"):
        draft(request_of(around={"section": section}), rules)


def test_what_has_no_standard_of_a_band_is_not_drafted_for_it(drafts, rules):
    """A square of 70 mm is asked from grade 9 on; a young class has few sticks where the cupboard has no more."""
    plan = rules.base.ladders["shelter"]
    assert set(plan.climb("room_each").asks) == {"own_50mm", "own_70mm"}
    for name in ("3 to 5", "K to 5", "6 to 12, pinned"):
        squares = {g: r.settings["room_each"] for r in drafts[name].ladder.rungs for g in r.grades}
        assert not [g for g, square in squares.items() if square == "own_70mm" and g in ("03", "04", "05", "06", "07")]
    few = draft(request_of(grades=["K", "2"], usual=NEARLY_EMPTY), rules).ladder
    assert {r.settings["rigid_pieces"] for r in few.rungs} == {3}


def test_no_support_comes_into_the_document(rules):
    section = {**AROUND_4B["section"], "supports": {"fine_motor": 3}}
    made = draft(request_of(around={"section": section, "easier": 0, "harder": 1}), rules)
    assert "fine_motor" not in made.ladder.model_dump_json()


def test_pins_and_names_are_kept(drafts):
    first = drafts["6 to 12, pinned"].ladder.rungs[0]
    assert (first.name, first.settings["load_positions"], first.pinned) == ("Start", 1, ["load_positions"])


def test_a_pin_that_cannot_climb_is_told_at_its_field(rules):
    pins = [{"rung": 1, "settings": {"build_minutes": 20}}, {"rung": 2, "settings": {"cover_cm2": 5000}}]
    with pytest.raises(RequestProblem) as caught:
        draft(request_of(grades=["3", "5"], pins=pins), rules)
    pointers = [p.pointer for p in caught.value.problems]
    assert pointers == ["/pins/0/settings/build_minutes", "/pins/1/settings/cover_cm2"]


def test_a_number_of_rungs_that_cannot_be_is_told_with_one_that_can(rules):
    with pytest.raises(RequestProblem, match=r"/rungs: no ladder of 12 rungs .* one of \d+ rungs does"):
        draft(request_of(grades=["3", "4"], rungs=12), rules)


@pytest.mark.parametrize("rungs", [2, 3, 4])
def test_exactly_so_many_rungs(rungs, rules):
    assert len(draft(request_of(grades=["3", "5"], rungs=rungs), rules).ladder.rungs) == rungs


@pytest.mark.parametrize(
    ("fields", "at"),
    [
        ({"challenge": "sheltr", "grades": ["3", "5"]}, "/challenge"),
        (
            {"grades": ["3", "5"], "usual": {"materials": [{"material": "craft_stik", "quantity": 3}]}},
            "/usual/materials/0",
        ),
        ({"around": {**AROUND_4B, "settings": {"load_plac": "marked"}}}, "/around/settings/load_plac"),
        (
            {"around": {**AROUND_4B, "section": {**AROUND_4B["section"], "tools": ["scisors"]}}},
            "/around/section/tools/0",
        ),
    ],
)
def test_an_unknown_name_is_told_at_its_field_with_the_nearest(fields, at, rules):
    with pytest.raises(RequestProblem) as caught:
        draft(request_of(**fields), rules)
    (problem,) = caught.value.problems
    assert problem.pointer.startswith(at) and "did you mean" in problem.detail


def test_equal_requests_give_equal_ladders_whatever_the_order_of_the_cupboard(rules):
    turned = {"materials": FULL["materials"][::-1]}
    one, two = (draft(request_of(grades=["3", "5"], usual=usual), rules).ladder for usual in (FULL, turned))
    assert one.rungs == two.rungs and one.same == two.same


def test_the_fewest_settings_are_tried_first(drafts):
    """Sixteen thousand settings are the most that a first try of six rungs looks at."""
    assert drafts["K to 12"].settings_tried <= 16_000


def test_the_document_is_json_of_plain_values(ladder):
    assert json.loads(ladder.model_dump_json())["rungs"][0]["settings"]["load_positions"] == 1


def test_a_count_that_spans_too_little_is_refused_at_once_as_the_search_would(rules, monkeypatch):
    request = LadderDraftRequest.model_validate({"challenge": "shelter", "grades": ["3", "5"], "rungs": 9})
    told = []
    for spans in (Drawing.spans, lambda *_: True):
        monkeypatch.setattr(Drawing, "spans", spans)
        with pytest.raises(RequestProblem) as caught:
            draft(request, rules)
        told.append(str(caught.value))
    assert told[0] == told[1] and "no ladder of 9 rungs" in told[0]
