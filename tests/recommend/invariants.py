"""What holds for every answer. One function an invariant; each gets the request, its answer and a way to ask anew."""

import json
import re

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.recommend.facts import NEED_FACTS
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base
from rungwright.rulebase.words import number

RULES = CompiledRules(load_rule_base(default_folder()))
LEVERS = RULES.base.levers
HARD = ("load", "room", "time", "kit", "adults")


def answer(request, **changes):
    return recommend(RecommendationRequest.model_validate({**request, **changes}), RULES)


def hold_all(request):
    """Raises AssertionError naming the invariant that does not hold for the answer to this request."""
    a = answer(request)
    for invariant in INVARIANTS:
        try:
            invariant(request, a)
        except AssertionError as error:
            raise AssertionError(f"{invariant.__name__}: {error}") from error


def without_time(result):
    return result.model_dump(mode="json", exclude={"created_at"})


def proposals_lead_from_the_start_settings_to_the_settings_after(request, a):
    assert len({p.lever for p in a.proposals}) == len(a.proposals) <= 3
    settings_after = dict(a.before.settings)
    for p in a.proposals:
        assert p.from_ == a.before.settings[p.lever]
        assert LEVERS[p.lever].accepts(p.to) and p.to != p.from_
        settings_after[p.lever] = p.to
    assert settings_after == a.after.settings


def challenge_proposals_never_go_against_the_ask_and_practical_ones_change_no_share(request, a):
    sign = {"harder": 1, "easier": -1, "none": 0}[a.resolved_direction]
    for p in a.proposals:
        change = p.effect.share_after - p.effect.share_before
        assert p.kind != "access"
        assert (sign * change <= 1e-4) if p.kind == "challenge" else (abs(change) <= 1e-4)
        assert p.kind != "challenge" or sign != 0
    shares = a.before.expected.all_criteria.share, a.after.expected.all_criteria.share
    assert sign * (shares[1] - shares[0]) <= 1e-4


def no_hard_check_newly_fails(request, a):
    before = {c.kind: c.verdict.value for c in a.before.checks}
    for check in a.after.checks:
        if check.kind in HARD and check.verdict.value == "not_feasible":
            assert before[check.kind] == "not_feasible"


def equal_requests_give_equal_answers_whatever_the_order_of_lists(request, a):
    section = dict(request["section"])
    if "materials" in section:
        section["materials"] = section["materials"][::-1]
    runs = [{**run, "results": run["results"][::-1]} for run in request["runs"]]
    assert without_time(answer(request, section=section, runs=runs)) == without_time(a)


def every_number_in_a_reason_stands_in_its_evidence_or_in_the_move(request, a):
    for p in a.proposals:
        known = {str(e.value) for e in p.reason.evidence} | {
            number(e.value) for e in p.reason.evidence if type(e.value) is float
        }
        known |= set(re.findall(r"\d+(?:\.\d+)?", f"{p.from_text} {p.to_text}"))
        for said in re.findall(r"\d+(?:\.\d+)?", p.reason.text):
            assert said in known, (p.reason.text, known)
        assert "%" not in p.reason.text and not re.search(r"\bshare\b|percent", p.reason.text)


def no_pinned_lever_moves(request, a):
    assert not {p.lever for p in a.proposals} & set(request["ask"]["pinned"])


def limits_of_the_youngest_hold_in_every_answer(request, a):
    if request["section"]["grades"][0] not in ("KG", "01", "02"):
        return
    assert a.after.settings["load_place"] not in ("tester", "drawn")
    for word in ("skewer", "toothpick", "hot glue", "craft knives"):
        assert word not in json.dumps([item.label for item in a.kit.items] + a.brief.kit)


def no_support_shows_in_reasons_brief_prompts_or_held_back(request, a):
    shown = json.dumps(
        [
            [p.reason.model_dump(mode="json") for p in a.proposals],
            a.brief.model_dump(mode="json"),
            [p.model_dump(mode="json") for p in a.prompts],
            [h.model_dump(mode="json") for h in a.held_back],
        ]
    ).lower()
    for word in ("fine motor", "fine_motor", "sensory", "mouth", *NEED_FACTS.values()):
        assert word not in shown


INVARIANTS = (
    proposals_lead_from_the_start_settings_to_the_settings_after,
    challenge_proposals_never_go_against_the_ask_and_practical_ones_change_no_share,
    no_hard_check_newly_fails,
    equal_requests_give_equal_answers_whatever_the_order_of_lists,
    every_number_in_a_reason_stands_in_its_evidence_or_in_the_move,
    no_pinned_lever_moves,
    limits_of_the_youngest_hold_in_every_answer,
    no_support_shows_in_reasons_brief_prompts_or_held_back,
)
