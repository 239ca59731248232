"""For every band, direction and cupboard: a proposal, or a reason why there is none that fits the answer."""

from __future__ import annotations

import pytest

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.recommend.choose import CEILING, FLOOR
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
CHALLENGES = sorted(RULES.base.challenges)

FULL = {
    "craft_stick": 2600, "straw_paper": 300, "copy_paper": 1200, "card_stock": 200, "index_card": 300, "foil": 12,
    "masking_tape": 24, "string": 6, "clothes_peg": 150, "modelling_clay": 8, "newspaper": 80,
}  # fmt: skip
SOFT = {"copy_paper": 600, "newspaper": 80, "masking_tape": 12, "foil": 6, "string": 4}
NEARLY_EMPTY = {"craft_stick": 12, "copy_paper": 20, "masking_tape": 1}
CUPBOARDS = {"full": FULL, "soft only": SOFT, "nearly empty": NEARLY_EMPTY}


def answer(challenge: str, grade: str, direction: str, cupboard: str, passed: int | None):
    """A section of 24 in eight groups over two hours; `passed` of the eight at each criterion last time."""
    section = {
        "label": "Ferry landing",
        "grades": [grade],
        "students": 24,
        "group_size": 3,
        "sessions": [{"minutes": 60}, {"minutes": 60}],
        "adults": 2,
        "materials": [{"material": name, "quantity": amount} for name, amount in CUPBOARDS[cupboard].items()],
    }
    runs = []
    if passed is not None:
        tested = [c.id for c in RULES.base.challenges[challenge].criteria if not c.only_if]
        results = [{"criterion": c, "end": {"met": passed, "of": 8}} for c in tested]
        runs = [{"challenge": challenge, "on": "2026-11-12", "groups": 8, "results": results}]
    told = {"challenge": challenge, "section": section, "runs": runs, "ask": {"direction": direction}}
    return recommend(RecommendationRequest.model_validate(told), RULES)


def why_nothing(a) -> str | None:
    """The reason that the answer's own numbers bear out; None where there is none."""
    share = a.before.expected.all_criteria.share
    if a.resolved_direction == "none":
        return "inside" if a.asked == "fit" and "inside the range you aim for" in a.summary.headline else None
    if a.resolved_direction == "harder" and share <= FLOOR + 1e-6 and "at the hard end" in a.summary.headline:
        return "hard end"
    if a.resolved_direction == "easier" and share >= CEILING - 1e-6 and "at the gentle end" in a.summary.headline:
        return "gentle end"
    held = {h.kind for h in a.held_back}
    if "too_far" in held and a.summary.headline.startswith("Anything"):
        return "too far"
    if "No change that would make this" in a.summary.headline and held & {"limit", "check", "wrong_way"}:
        return "held back"
    return None


@pytest.mark.parametrize("cupboard", CUPBOARDS)
@pytest.mark.parametrize("direction", ["easier", "fit", "harder"])
@pytest.mark.parametrize("grade", ["KG", "01", "04", "07", "11"])
@pytest.mark.parametrize("challenge", CHALLENGES)
def test_a_proposal_or_a_reason_that_the_numbers_bear_out(challenge, grade, direction, cupboard):
    for passed in (None, 2, 8):
        a = answer(challenge, grade, direction, cupboard, passed)
        assert a.proposals or why_nothing(a), (passed, a.summary.headline, [h.kind for h in a.held_back])


@pytest.mark.parametrize("grade", ["KG", "04", "07", "11"])
def test_a_full_cupboard_and_a_run_in_the_middle_give_changes_both_ways(grade):
    for direction in ("easier", "harder"):
        a = answer("shelter", grade, direction, "full", 7)
        assert any(p.kind == "challenge" for p in a.proposals), (direction, a.summary.headline)


@pytest.mark.parametrize("grade", ["KG", "04", "07", "11"])
@pytest.mark.parametrize("direction", ["easier", "fit", "harder"])
def test_a_soft_cupboard_is_never_told_to_use_sticks_without_what_to_get(grade, direction):
    for p in answer("shelter", grade, direction, "soft only", None).proposals:
        if p.lever == "rigid_pieces" and p.to > p.from_:
            assert p.needs
