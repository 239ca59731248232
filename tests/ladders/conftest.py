"""Ladders that the tests share; drafting takes a second, so each is made once."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_request import LadderDraftRequest
from rungwright.ladders.draft import Drafted, draft
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules


@pytest.fixture(scope="session")
def rules() -> Iterator[CompiledRules]:
    rules = open_rules(Settings())
    yield rules
    rules.close()


def stock(**quantities: float) -> dict:
    return {"materials": [{"material": name, "quantity": q} for name, q in quantities.items()]}


FULL = stock(craft_stick=400, copy_paper=500, masking_tape=6, foil=4, index_card=100)
SOFT = stock(copy_paper=500, masking_tape=6, foil=4, index_card=100)
NEARLY_EMPTY = stock(copy_paper=80, masking_tape=1, craft_stick=40, foil=1, index_card=40)
AROUND_4B = {
    "section": {
        "label": "Kestrel 4B",
        "grades": ["04"],
        "students": 27,
        "group_size": 3,
        "sessions": [{"minutes": 50}, {"minutes": 50}],
    },
    "settings": {"rigid_pieces": 14},
    "easier": 2,
    "harder": 3,
}
REQUESTS = {
    "K to 12": {"grades": ["KG", "12"]},
    "K to 12, full": {"grades": ["KG", "12"], "usual": FULL},
    "K to 12, soft only": {"grades": ["KG", "12"], "usual": SOFT},
    "K to 12, nearly empty": {"grades": ["KG", "12"], "usual": NEARLY_EMPTY},
    "3 to 5": {"grades": ["3", "5"]},
    "K to 5": {"grades": ["K", "5"]},
    "6 to 12, pinned": {
        "grades": ["6", "12"],
        "pins": [{"rung": 1, "settings": {"load_positions": 1}, "name": "Start"}],
    },
    "around 4B": {"around": AROUND_4B},
}


class Drafts(dict):
    """By the names of REQUESTS, each drafted when it is first asked for."""

    def __init__(self, rules: CompiledRules):
        super().__init__()
        self.rules = rules

    def __missing__(self, name: str) -> Drafted:
        request = LadderDraftRequest.model_validate({"challenge": "shelter", **REQUESTS[name]})
        self[name] = draft(request, self.rules)
        return self[name]


@pytest.fixture(scope="session")
def drafts(rules) -> Drafts:
    return Drafts(rules)


@pytest.fixture(scope="session")
def ladder(drafts) -> Ladder:
    """Six rungs from kindergarten to grade 12, `r1` to `r6`."""
    return drafts["K to 12"].ladder
