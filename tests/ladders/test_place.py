"""Sections on rungs, results by rung, the kit of a school."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from rungwright.domain.ladder_request import LadderPlaceRequest
from rungwright.ladders.place import place
from rungwright.recommend.problem import RequestProblem
from tests.ladders.conftest import stock

SECTION = {
    "label": "Kestrel 4B",
    "grades": ["04"],
    "students": 27,
    "group_size": 3,
    "sessions": [{"minutes": 50}, {"minutes": 50}],
}
CRITERIA = ("wind", "dry", "load", "entry", "room")


def run(met: int, of: int = 9, on: str = "2026-10-14") -> dict:
    results = [{"criterion": c, "end": {"met": met, "of": of}} for c in CRITERIA]
    return {"challenge": "shelter", "on": on, "groups": of, "results": results}


def placed(ladder, rules, *sections: dict, usual: dict | None = None):
    document = ladder.model_dump(mode="json")
    if usual is not None:
        document["usual"] = {**document["usual"], **usual}
    return place(LadderPlaceRequest.model_validate({"ladder": document, "sections": list(sections)}), rules)


def rung_of(answer, i: int = 0) -> int:
    return int(answer.sections[i].rung.removeprefix("r"))


def test_better_results_never_place_lower(ladder, rules):
    sections = [{"section": SECTION, "taught": [{"rung": "r2", "run": run(met)}]} for met in (0, 3, 6, 8, 9)]
    answer = placed(ladder, rules, *sections)
    rungs = [rung_of(answer, i) for i in range(len(sections))]
    assert rungs == sorted(rungs) and rungs[0] < rungs[-1]


def test_a_higher_rung_never_promises_more_groups(ladder, rules):
    for s in placed(ladder, rules, {"section": SECTION}, {"section": {**SECTION, "grades": ["10"]}}).sections:
        groups = [o.groups for o in s.outlooks]
        assert groups == sorted(groups, reverse=True)


def test_the_reason_tells_this_rung_and_its_neighbours_in_groups(ladder, rules):
    (s,) = placed(ladder, rules, {"section": SECTION, "now_on": "r4"}).sections
    assert s.name in s.reason and "of your 9 groups" in s.reason and "One rung up" in s.reason
    assert "%" not in s.reason and "rough guess" in s.evidence


def test_a_section_inside_its_target_stays_where_it_is(ladder, rules):
    fresh = placed(ladder, rules, {"section": SECTION}).sections[0]
    there = placed(ladder, rules, {"section": SECTION, "now_on": fresh.rung}).sections[0]
    assert there.rung == fresh.rung


def test_all_passed_moves_one_rung_and_says_why(ladder, rules):
    answer = placed(ladder, rules, {"section": SECTION, "now_on": "r1", "taught": [{"rung": "r1", "run": run(9)}]})
    assert rung_of(answer) <= 2
    far = {"section": {**SECTION, "grades": ["12"]}, "now_on": "r1", "taught": [{"rung": "r1", "run": run(9)}]}
    answer = placed(ladder, rules, far)
    assert rung_of(answer) == 2
    (note,) = answer.sections[0].notes
    assert "one step" in note


def test_one_rung_up_and_down_are_told_as_changes_with_reasons(ladder, rules):
    (s,) = placed(ladder, rules, {"section": SECTION, "now_on": "r3"}).sections
    assert (s.up.rung, s.down.rung) == ("r4", "r2")
    for move, rung in ((s.up, ladder.rung("r4")), (s.down, ladder.rung("r2"))):
        assert {c.lever: c.to for c in move.changes} == {
            k: v for k, v in rung.settings.items() if v != ladder.rung("r3").settings[k]
        }
        assert all(c.reason.text for c in move.changes)
        assert all(move.settings[k] == v for k, v in rung.settings.items())
    assert all(c.asks for c in s.up.changes) and not any(c.asks for c in s.down.changes)
    assert placed(ladder, rules, {"section": SECTION, "now_on": "r1"}).sections[0].down is None
    assert placed(ladder, rules, {"section": SECTION, "now_on": "r6"}).sections[0].up is None


def test_a_rung_that_a_section_may_not_do_is_not_chosen(ladder, rules):
    first = {**SECTION, "grades": ["01"], "students": 18, "adults": 2}
    answer = placed(ladder, rules, {"section": first, "taught": [{"rung": "r1", "run": run(6, 6)}]})
    assert rung_of(answer) == 1
    two_spots, drawn = answer.sections[0].outlooks[1:3]
    assert any("One place that holds" in text for text in two_spots.failing)
    assert any("someone else picks" in text for text in drawn.failing)


def test_results_are_pooled_from_three_sections_and_name_nobody(ladder, rules):
    sections = [
        {"section": {**SECTION, "label": f"Kestrel {i}"}, "taught": [{"rung": "r2", "run": run(met)}]}
        for i, met in enumerate((9, 6, 3))
    ]
    two = placed(ladder, rules, *sections[:2]).results[1]
    assert (two.sections, two.shown, two.criteria) == (2, False, [])
    three = placed(ladder, rules, *sections).results[1]
    assert three.shown and {(c.met, c.of) for c in three.criteria} == {(18, 27)}
    assert "Kestrel" not in three.text
    same_section_twice = {**sections[0], "taught": [{"rung": "r2", "run": run(9)}] * 3}
    assert not placed(ladder, rules, same_section_twice).results[1].shown


def test_runs_with_a_flag_are_not_pooled(ladder, rules):
    flagged = {**run(0), "flags": ["kit_ran_out"]}
    sections = [{"section": SECTION, "taught": [{"rung": "r2", "run": r}]} for r in (run(9), run(9), flagged)]
    assert placed(ladder, rules, *sections).results[1].sections == 2


def test_two_sections_of_one_grade_on_different_rungs_are_shown(ladder, rules):
    one, two = {"section": SECTION, "now_on": "r2"}, {"section": SECTION, "now_on": "r3"}
    (spread,) = placed(ladder, rules, one, two).spread
    assert (spread.grade, spread.rungs) == ("04", ["r2", "r3"])
    assert placed(ladder, rules, one, one).spread == []


def test_a_cohort_that_met_it_before_is_noted(ladder, rules):
    (s,) = placed(ladder, rules, {"section": SECTION, "met": {"grade": "3", "rung": "r6"}}).sections
    assert s.notes[-2:] == [
        f"Most of this section met the challenge in grade 3 on {ladder.rung('r6').name}.",
        "This rung asks no more than what they met then: think of one rung up.",
    ]


def test_the_shared_first_run_is_asked_for(ladder, rules):
    shared = ladder.model_copy(update={"first_run": "r2"})
    ran = {"rung": "r2", "run": run(6)}
    taught = ([], [ran], [{**ran, "earlier_year": True}])
    answer = placed(shared, rules, *({"section": SECTION, "taught": told} for told in taught))
    asked = [any("where every section starts the year" in n for n in s.notes) for s in answer.sections]
    assert asked == [True, False, True], "each year has a first run of its own"


def test_no_support_is_in_the_answer(ladder, rules):
    section = {**SECTION, "supports": {"sensory": 2, "reading": 4}}
    text = placed(ladder, rules, {"section": section, "now_on": "r2"}).model_dump_json()
    assert "sensory" not in text and "reading" not in text and '"supports":{' not in text


def test_what_is_bought_is_what_all_sections_need_less_the_cupboard(ladder, rules):
    """Worked by hand: sticks go back, so nine groups once; tape is used up, so nine groups twice.

    20 cm of tape more are for repair. Of 100 sticks a tenth is kept back, and as much of what is bought.
    """
    sticks = ladder.rung("r2").settings["rigid_pieces"]
    sections = [{"section": SECTION, "now_on": "r2"}] * 2
    kit = placed(ladder, rules, *sections, usual=stock(craft_stick=100, copy_paper=500)).kit
    (line,) = [b for b in kit.buy if b.role == "rigid_piece"]
    assert line.need == 9 * sticks and line.there == 90
    assert line.buy == -(-(line.need - 90) * 10 // 9)
    (tape,) = [b for b in kit.buy if b.role == "joiner_tape"]
    assert tape.need == 2 * 9 * (ladder.same["joiner_length_cm"] + 20) and tape.there == 0
    (paper,) = [b for b in kit.buy if b.role == "sheet"]
    assert paper.buy == 0 and paper.text.startswith("The cupboard has enough")


def test_weeks_tell_which_station_kit_they_need(ladder, rules):
    sections = [
        {"section": SECTION, "now_on": "r2", "week": "2026-12-04"},
        {"section": {**SECTION, "label": "Kestrel 5"}, "now_on": "r3", "week": "2026-11-30"},
        {"section": {**SECTION, "label": "Kestrel 6"}, "now_on": "r3", "week": "2026-12-07"},
    ]
    weeks = placed(ladder, rules, *sections).kit.weeks
    assert [(w.week.isoformat(), w.sections) for w in weeks] == [
        ("2026-11-30", ["Kestrel 4B", "Kestrel 5"]),
        ("2026-12-07", ["Kestrel 6"]),
    ]
    assert {"1 × hand fan with a guard", "1 × trigger sprayer", "1 × test weight of 370 g"} <= set(weeks[0].things)


def test_names_that_are_not_there_are_told_at_their_field(ladder, rules):
    wrong = {"section": SECTION, "now_on": "r22", "taught": [{"rung": "r9", "run": run(9)}]}
    with pytest.raises(RequestProblem) as caught:
        placed(ladder, rules, {"section": SECTION}, wrong)
    assert {p.pointer for p in caught.value.problems} == {"/sections/1/now_on", "/sections/1/taught/0/rung"}
    of_another = {"section": SECTION, "taught": [{"rung": "r1", "run": {**run(9), "challenge": "span"}}]}
    with pytest.raises(RequestProblem) as caught:
        placed(ladder, rules, of_another)
    assert caught.value.problems[0].pointer == "/sections/0/taught/0/run/challenge"


def test_the_example_sections_are_placed(rules):
    folder = Path(__file__).resolve().parents[2] / "examples" / "ladders"
    document, sections = (json.loads((folder / f"{n}.json").read_text("utf-8")) for n in ("ladder", "sections"))
    answer = place(LadderPlaceRequest.model_validate({"ladder": document, "sections": sections}), rules)
    assert [s.section for s in answer.sections] == [s["section"]["label"] for s in sections]
    assert answer.results[1].shown and len(answer.kit.weeks) == 2
