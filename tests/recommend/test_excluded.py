"""What is excluded is named nowhere in an answer, for any section of the invented school."""

import re

import pytest

from rungwright.api.demo import school_demo
from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
SCHOOL = school_demo()
NAMED = {
    "craft_stick": r"(?<!jumbo )craft stick",
    "foil": r"\bfoil\b",
    "masking_tape": "masking tape",
    "copy_paper": "copy paper",
    "modelling_clay": r"\bclay\b",
    "scissors": "scissors",
    "hand_fan": "hand fan",
    "sprayer": "sprayer",
}


@pytest.mark.parametrize("direction", ["easier", "harder"])
@pytest.mark.parametrize("excluded", NAMED)
def test_it_is_named_nowhere(excluded, direction):
    for told in SCHOOL:
        section = {**told["section"], "exclusions": [excluded]}
        request = {
            **told,
            "section": section,
            "ask": {"direction": direction},
            "include": ["kit", "brief", "timetable"],
        }
        answer = recommend(RecommendationRequest.model_validate(request), RULES)
        assert not re.search(NAMED[excluded], answer.model_dump_json(), re.IGNORECASE), section["label"]
