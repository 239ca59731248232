"""Two coaches edit one ladder at once: nothing of either is lost, and clashes are shown."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rungwright.ladders.compare import MISSING, compare, fields
from rungwright.ladders.merge import merge
from rungwright.recommend.problem import RequestProblem
from tests.ladders.test_edit import PUBLISH, after

NAME = {"do": "rename", "rung": "r2", "name": "Sides"}
OTHER_NAME = {"do": "rename", "rung": "r2", "name": "Walls"}
COVER = {"do": "set", "rung": "r6", "settings": {"cover_cm2": 225}}
AGREED = {"do": "agree", "rung": "r3", "agreed": {"by": "Coaches", "on": "2026-11-20", "text": "Two spots."}}
ONE = [NAME, COVER, {"do": "pin", "rung": "r1", "levers": ["figure_count"]}, {"do": "insert", "after": "r3", "id": "x"}]
TWO = [OTHER_NAME, AGREED, {"do": "first_run", "rung": "r1"}, {"do": "insert", "after": "r4", "id": "y"}]


def test_edits_of_different_things_are_both_there(ladder, rules):
    one, two = after(ladder, rules, *ONE), after(ladder, rules, *TWO[1:])
    made = merge(ladder, one, two, rules)
    assert made.conflicts == []
    assert [r.id for r in made.ladder.rungs] == ["r1", "r2", "r3", "x", "r4", "y", "r5", "r6"]
    assert made.ladder.rung("r2").name == "Sides"
    assert made.ladder.rung("r6").settings["cover_cm2"] == 225
    assert made.ladder.rung("r3").agreed.text == "Two spots."
    assert made.ladder.first_run == "r1"
    assert made.report.sound


def test_a_clash_is_listed_with_all_three_and_the_first_stands(ladder, rules):
    made = merge(ladder, after(ladder, rules, NAME), after(ladder, rules, OTHER_NAME), rules)
    (clash,) = made.conflicts
    assert clash.at == "/rungs/r2/name"
    assert (clash.base, clash.first, clash.second) == (ladder.rung("r2").name, "Sides", "Walls")
    assert made.ladder.rung("r2").name == "Sides"


def test_the_same_edit_of_both_is_no_clash(ladder, rules):
    one = after(ladder, rules, NAME, COVER)
    made = merge(ladder, one, one, rules)
    assert made.conflicts == [] and made.ladder == one


def test_a_rung_that_one_changed_and_the_other_took_out_stays_and_is_shown(ladder, rules):
    gone = after(ladder, rules, {"do": "remove", "rung": "r6"})
    for first, second in ((after(ladder, rules, COVER), gone), (gone, after(ladder, rules, COVER))):
        made = merge(ladder, first, second, rules)
        assert made.ladder.rung("r6").settings["cover_cm2"] == 225
        assert [c.at for c in made.conflicts] == ["/rungs/r6"]


def test_a_rung_that_one_took_out_goes(ladder, rules):
    made = merge(ladder, after(ladder, rules, {"do": "remove", "rung": "r6"}), after(ladder, rules, NAME), rules)
    assert made.conflicts == [] and [r.id for r in made.ladder.rungs] == ["r1", "r2", "r3", "r4", "r5"]
    assert made.taken_from_first == [f"{ladder.rung('r6').name}: taken out"]


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(one=st.sets(st.integers(0, 3)), two=st.sets(st.integers(0, 3)))
def test_no_field_of_either_is_lost(one, two, ladder, rules):
    """Each field that one changed has that value in the result, or stands in a conflict with it."""
    first = after(ladder, rules, *(ONE[i] for i in sorted(one)))
    second = after(ladder, rules, *(TWO[i] for i in sorted(two)))
    made = merge(ladder, first, second, rules)
    clashes = {c.at for c in made.conflicts}
    base, merged = fields(ladder), fields(made.ladder)
    for side in (fields(first), fields(second)):
        for at, value in side.items():
            if base.get(at, MISSING) != value:
                assert merged.get(at, MISSING) == value or at in clashes, at


def test_merging_is_alike_both_ways_but_for_clashes(ladder, rules):
    one, two = after(ladder, rules, *ONE), after(ladder, rules, *TWO[1:])
    assert merge(ladder, one, two, rules).ladder == merge(ladder, two, one, rules).ladder


def test_a_merge_is_a_draft(ladder, rules):
    base = after(ladder, rules, PUBLISH)
    draft = after(base, rules, {"do": "revise"})
    made = merge(base, after(draft, rules, NAME), after(draft, rules, COVER), rules)
    assert made.ladder.published is None and made.ladder.version == 1


def test_two_ladders_are_not_merged(ladder, rules):
    fork = after(ladder, rules, {"do": "fork", "id": "ours", "name": "Ours"})
    with pytest.raises(RequestProblem, match="/second/id: this is 'ours', no edit of"):
        merge(ladder, ladder, fork, rules)


def test_what_differs_between_two_is_told(ladder, rules):
    other = after(
        ladder, rules, NAME, COVER, {"do": "insert", "after": "r3", "id": "x"}, {"do": "remove", "rung": "r1"}
    )
    told = compare(ladder, other, rules)
    assert [c.at for c in told.changes] == ["/rungs/r1", "/rungs/x", "/rungs/r2/name", "/rungs/r6/settings/cover_cm2"]
    (cover,) = [c for c in told.changes if c.at.endswith("cover_cm2")]
    assert (cover.first, cover.second) == (450, 225) and "225 cm² instead of 450 cm²" in cover.text
    assert told.same_everywhere
    assert told.demand_first["r6"] < told.demand_second["r6"], "less cover asks more"
    assert compare(ladder, ladder, rules).changes == []


def test_locked_levers_that_differ_are_told(ladder, rules):
    other = ladder.model_copy(update={"same": {**ladder.same, "load_mass_g": 250}})
    told = compare(ladder, other, rules)
    assert not told.same_everywhere
    assert [c.at for c in told.changes] == ["/same/load_mass_g"]
    assert told.demand_second["r3"] < told.demand_first["r3"]
