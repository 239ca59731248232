"""Edits make a new document, are checked at once, and are refused with the reason."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_request import Edit
from rungwright.ladders.edit import edited
from rungwright.ladders.report import report
from rungwright.ladders.share import read, written
from rungwright.recommend.problem import RequestProblem

EDITS = TypeAdapter(list[Edit])
PUBLISH = {"do": "publish", "on": "2026-11-25", "by": "Science coaches"}


def after(ladder: Ladder, rules, *edits: dict) -> Ladder:
    return edited(ladder, EDITS.validate_python(list(edits)), rules)[0]


def refused(ladder: Ladder, rules, *edits: dict) -> tuple[str, str]:
    before = ladder.model_dump_json()
    with pytest.raises(RequestProblem) as caught:
        after(ladder, rules, *edits)
    assert ladder.model_dump_json() == before
    (problem,) = caught.value.problems
    return problem.pointer, problem.detail


def test_a_file_comes_back_as_it_was(ladder):
    assert read(written(ladder)) == ladder
    assert written(read(written(ladder))) == written(ladder)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"name": "Two spots"', '"nmae": "Two spots"'),
        ('"format_version": 1', '"format_version": 2'),
        ('"id": "r2"', '"id": "r1"'),
        ('"first_run": null', '"first_run": "r9"'),
        ('"version": 0', '"version": -1'),
    ],
)
def test_a_file_that_is_no_ladder_is_refused(old, new, ladder):
    text = written(ladder)
    assert old in text
    with pytest.raises(ValidationError):
        read(text.replace(old, new, 1))


def test_a_rung_half_way_is_worked_out(ladder, rules):
    grown = after(ladder, rules, {"do": "insert", "after": "r3", "id": "between"})
    told = {r.id: r.demand for r in report(grown, rules).rungs}
    middle = (told["r3"] + told["r4"]) / 2
    assert told["r3"] < told["between"] < told["r4"]
    assert abs(told["between"] - middle) < (told["r4"] - told["r3"]) / 4
    assert [r.id for r in grown.rungs] == ["r1", "r2", "r3", "between", "r4", "r5", "r6"]
    assert [r for r in grown.rungs if r.id != "between"] == ladder.rungs


def test_a_rung_with_settings_goes_where_they_fit_and_nowhere_else(ladder, rules):
    lower = {"cover_cm2": 900}
    at, detail = refused(
        ladder, rules, {"do": "insert", "after": "r6", "id": "x", "settings": {"cover_cm2": 900, "rigid_pieces": 12}}
    )
    assert at == "/edits/0" and f"cannot stand above {ladder.rung('r6').name}" in detail
    assert after(ladder, rules, {"do": "insert", "after": "r5", "id": "x", "settings": {"cover_cm2": 112}})
    assert refused(ladder, rules, {"do": "insert", "id": "x"})[0] == "/edits/0/settings"
    assert refused(ladder, rules, {"do": "insert", "after": "r5", "id": "r2", "settings": lower})[0] == "/edits/0/id"
    assert "did you mean" in refused(ladder, rules, {"do": "insert", "after": "r51", "id": "x"})[1]


def test_nothing_lies_between_two_rungs_one_step_apart(ladder, rules):
    one = {**ladder.rungs[2].settings, "figure_count": ladder.rungs[2].settings["figure_count"] + 1}
    close = after(ladder, rules, {"do": "insert", "after": "r3", "id": "x", "settings": one})
    assert "nothing lies between" in refused(close, rules, {"do": "insert", "after": "r3", "id": "y"})[1]


def test_a_rung_at_a_setting_between_those_of_the_plan_is_called_by_it(ladder, rules):
    grown = after(ladder, rules, {"do": "insert", "after": "r5", "id": "x", "settings": {"cover_cm2": 300}})
    assert grown.rung("x").name == "Waterproof cover a group: 300 cm²"


def test_another_order_is_refused_with_the_reason(ladder, rules):
    at, detail = refused(ladder, rules, {"do": "reorder", "order": ["r1", "r3", "r2", "r4", "r5", "r6"]})
    assert at == "/edits/0"
    assert detail.startswith(f"{ladder.rung('r2').name} cannot stand above {ladder.rung('r3').name}: it asks no more")
    assert "name every rung once" in refused(ladder, rules, {"do": "reorder", "order": ["r1"]})[1]
    assert after(ladder, rules, {"do": "reorder", "order": [r.id for r in ladder.rungs]}) == ladder


def test_what_is_pinned_stays_until_it_is_freed(ladder, rules):
    pin = {"do": "pin", "rung": "r4", "levers": ["cover_cm2"]}
    change = {"do": "set", "rung": "r4", "settings": {"cover_cm2": 600}}
    assert refused(ladder, rules, pin, change)[0] == "/edits/1/settings/cover_cm2"
    changed = after(ladder, rules, pin, {"do": "pin", "rung": "r4", "levers": []}, change)
    assert changed.rung("r4").settings["cover_cm2"] == 600
    assert "did you mean 'cover_cm2'" in refused(ladder, rules, {**pin, "levers": ["cover_cm"]})[1]


@pytest.mark.parametrize(
    ("settings", "at", "words"),
    [
        ({"cover": 600}, "/edits/0/settings/cover", "not a known lever"),
        ({"cover_cm2": 9000}, "/edits/0/settings/cover_cm2", "give a number from 0 to 1800"),
        ({"load_mass_g": 250}, "/edits/0/settings/load_mass_g", "same on every rung"),
        ({"build_minutes": 20}, "/edits/0/settings/build_minutes", "does not climb"),
    ],
)
def test_a_setting_that_cannot_be_is_told_at_its_field(settings, at, words, ladder, rules):
    pointer, detail = refused(ladder, rules, {"do": "set", "rung": "r4", "settings": settings})
    assert pointer == at and words in detail


def test_every_edit_is_checked_again(ladder, rules):
    made, told = edited(
        ladder, EDITS.validate_python([{"do": "set", "rung": "r1", "settings": {"load_place": "tester"}}]), rules
    )
    assert made.rungs[0].settings["load_place"] == "tester"
    assert not told.sound
    assert {p.kind for p in told.problems if p.must and p.rung == "r1"} == {"limit"}
    assert refused(made, rules, PUBLISH)[0] == "/edits/0"


def test_a_published_version_never_changes(ladder, rules):
    first = after(ladder, rules, PUBLISH)
    assert (first.version, first.published.version) == (1, 1)
    for edit in (
        {"do": "rename", "rung": "r1", "name": "x"},
        {"do": "set", "rung": "r1", "settings": {"figure_count": 4}},
        {"do": "remove", "rung": "r1"},
        {"do": "name", "name": "x"},
        PUBLISH,
    ):
        assert "never changes" in refused(first, rules, edit)[1]
    second = after(first, rules, {"do": "revise"}, {"do": "rename", "rung": "r1", "name": "x"}, PUBLISH)
    assert (second.version, second.rung("r1").name) == (2, "x")
    assert first.rung("r1").name != "x"


def test_a_fork_has_an_id_of_its_own_and_says_where_it_comes_from(ladder, rules):
    first = after(ladder, rules, PUBLISH)
    fork = after(first, rules, {"do": "fork", "id": "ours", "name": "Ours"})
    assert (fork.id, fork.version, fork.published) == ("ours", 0, None)
    assert (fork.forked_from.ladder, fork.forked_from.version) == (ladder.id, 1)
    assert refused(first, rules, {"do": "fork", "id": first.id, "name": "Ours"})[0] == "/edits/0/id"


def test_what_was_agreed_here_is_a_basis_of_the_rung(ladder, rules):
    agreed = {"by": "Science coaches", "on": "2026-11-20", "text": "Two spots from grade 4 on."}
    made, told = edited(ladder, EDITS.validate_python([{"do": "agree", "rung": "r3", "agreed": agreed}]), rules)
    (basis,) = told.rungs[2].basis
    assert (basis.kind, basis.label, basis.locator) == ("agreed_here", "Agreed by Science coaches", "2026-11-20")
    assert basis.supports == agreed["text"]
    assert after(made, rules, {"do": "agree", "rung": "r3", "agreed": None}) == ladder


def test_the_first_run_goes_when_its_rung_does(ladder, rules):
    made = after(ladder, rules, {"do": "first_run", "rung": "r2"})
    assert made.first_run == "r2"
    assert after(made, rules, {"do": "remove", "rung": "r2"}).first_run is None
    assert "rung of this ladder" in refused(ladder, rules, {"do": "first_run", "rung": "r22"})[1]


def test_the_last_rung_stays(ladder, rules):
    removes = [{"do": "remove", "rung": r.id} for r in ladder.rungs]
    assert refused(ladder, rules, *removes) == ("/edits/5", "a ladder keeps at least one rung")
