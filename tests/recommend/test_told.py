"""What an answer says and does where something stands in the way: minutes, tools, the last lesson, the kit."""

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import RequestProblem, recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
PASSED = ("wind", "dry", "load", "entry", "room")


def answer(*, minutes=(60, 60), met=None, over=None, ask=None, **section):
    """A section of grade 4 in eight groups; `met` of them at each criterion last time, which ran `over`."""
    told = {
        "label": "Fire lookout",
        "grades": ["04"],
        "students": 24,
        "group_size": 3,
        "sessions": [{"minutes": m} for m in minutes],
        **section,
    }
    runs = []
    if met is not None:
        results = [{"criterion": c, "end": {"met": met, "of": 8}} for c in PASSED]
        runs = [{"challenge": "shelter", "on": "2026-11-12", "groups": 8, "results": results, "minutes_over": over}]
    request = {"challenge": "shelter", "section": told, "runs": runs, "ask": ask or {}}
    return recommend(RecommendationRequest.model_validate(request), RULES)


def time(a):
    return next(check for check in a.after.checks if check.kind == "time")


def test_minutes_that_the_last_lesson_ran_over_are_set_aside():
    usual, late = (answer(met=6, over=over) for over in (0, 15))
    assert time(usual).numbers["set_aside"] == 0 and time(late).numbers["set_aside"] == 15
    assert "15 of them are set aside" in time(late).text
    # Early is no debt, and a lesson that ran over by two hours met something that will not come again.
    assert time(answer(met=6, over=-10)).numbers["set_aside"] == 0
    assert time(answer(met=6, over=120)).numbers["set_aside"] == 30


def test_in_one_lesson_the_rain_comes_once_at_the_end():
    assert answer(minutes=(90,)).before.settings["first_round"] == "dry_tests"
    assert answer(minutes=(60, 60)).before.settings["first_round"] == "all"


def test_nothing_is_made_harder_while_the_lesson_does_not_fit():
    a = answer(minutes=(30,), ask={"direction": "harder"})
    assert not [p for p in a.proposals if p.kind == "challenge"]
    assert a.summary.headline.startswith("Nothing is made harder while the lesson does not fit its minutes.")
    assert "such lessons" in a.summary.headline


@pytest.mark.parametrize(
    ("section", "named"),
    [
        ({"tools": ["scissors"]}, "wind and rain tests"),
        ({"tools": ["hand_fan"]}, "the rain test "),
        ({"exclusions": ["sprayer", "dropper"]}, "the rain test "),
        ({"stations": [{"test": "wind", "copies": 1}, {"test": "rain", "copies": 1}]}, "the weight test "),
    ],
)
def test_a_test_that_nothing_was_told_for_is_named(section, named):
    a = answer(**section)
    assert named in a.summary.headline and "get it first" in a.summary.headline
    assert any(text.startswith("You told nothing for the ") for text in a.assumptions)
    for excluded in section.get("exclusions", ()):
        assert RULES.base.names[excluded] not in " ".join(a.assumptions)


def test_tools_of_another_kind_do_as_well():
    assert "get it first" not in answer(tools=["card_fan", "dropper"]).summary.headline


def test_where_hardly_a_group_made_it_the_cause_is_asked_for_first():
    assert "First find out what went wrong" in answer(met=0, ask={"direction": "easier"}).summary.headline
    assert "First find out what went wrong" not in answer(met=6, ask={"direction": "easier"}).summary.headline


def test_what_the_teacher_kept_is_not_told_as_a_failed_check():
    levers = sorted(RULES.base.challenges["shelter"].presets["3-5"])
    a = answer(met=5, ask={"direction": "easier", "pinned": levers})
    assert not a.proposals and a.summary.headline.startswith("You kept or declined every change")


def test_what_a_section_always_keeps_is_never_proposed_and_said_so():
    free = answer(met=8, ask={"direction": "harder"})
    lever = free.proposals[0].lever
    kept = answer(met=8, ask={"direction": "harder"}, kept_levers=[lever])
    assert lever not in {p.lever for p in kept.proposals}
    told = next(h for h in kept.held_back if h.lever == lever)
    assert told.kind == "pinned" and told.text.startswith("You always keep ")
    # As with a pin of one ask, but for who said it.
    once = answer(met=8, ask={"direction": "harder", "pinned": [lever]})
    assert [p.lever for p in once.proposals] == [p.lever for p in kept.proposals] and once.id != kept.id
    with pytest.raises(RequestProblem, match="figure_count"):
        answer(kept_levers=["figure_cont"])


def test_what_the_cupboard_lacks_says_to_collect_it():
    a = answer(
        met=3, materials=[{"material": "copy_paper", "quantity": 60}, {"material": "masking_tape", "quantity": 1}]
    )
    held = [h for h in a.held_back if "the cupboard is short" in h.text]
    assert held and all(h.text.endswith("Collect or buy it first, and ask again.") for h in held)


def test_what_was_fitted_for_the_minutes_is_not_taken_back():
    a = answer(minutes=(45, 45), grades=["01"], group_size=2, students=18, adults=2, ask={"direction": "easier"})
    back = [h for h in a.held_back if h.lever in {f.lever for f in a.before.adjusted} and h.kind == "check"]
    assert all(p.lever != h.lever for p in a.proposals for h in back)
    verdicts = [next(c for c in part.checks if c.kind == "time").verdict for part in (a.before, a.after)]
    moved_back = {p.lever for p in a.proposals} & {f.lever for f in a.before.adjusted}
    assert not moved_back or verdicts[0] == verdicts[1]
