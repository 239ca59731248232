"""The words of the trade as these pages use them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.web.desk import Desk, View

WORDS = {
    "section": "A class group that meets together. Only counts about it are kept.",
    "challenge": "The task that groups get: build something small, then test it.",
    "to pitch": "To set how hard a challenge is for one section: hard enough to need thinking, easy enough that most "
    "groups meet the criteria in the time there is.",
    "criterion": "One thing that a build must do, with what counts as yes. A group meets it or does not.",
    "figure": "The small person or creature that stands for those who use the build.",
    "spot": "A marked place on the build where the test weight is set.",
    "lever": "A part of a challenge that can be changed, such as the number of sticks. Its setting is its value.",
    "ladder": "One shared set of rungs for a challenge, from the gentlest to the hardest, so that every teacher of a "
    "school means the same by each.",
    "rung": "One version of a challenge on a ladder. Each rung newly asks one thing of the students.",
    "proposal": "One lever moved from one setting to another, with its reason, its ground and its effect.",
    "easier, about right, harder": "What you ask for. About right leaves a section alone where 7 to 9 of 10 groups are "
    "expected to meet every criterion by the end.",
    "run": "One lesson with a challenge that was taught, with its results.",
    "readiness": "How a section stands against the criteria, as far as its results and its grade tell.",
    "first test and by the end": "Most groups miss something at first. They improve their build and try again; "
    "by the end counts what they met after that.",
    "full, half and empty dots": "In four of five lessons, the number of groups that meet every criterion lies between "
    "the full dots and the full and half dots together.",
    "clear, uncertain, not feasible": "What a check says. Clear: it holds over the whole range of materials and care "
    "in building. Uncertain: it may or may not, so try it first. Not feasible: it does not hold even at its best.",
    "starting guess": "A number that no class here has tried yet. Your own results take its place.",
    "brief": "The page that the groups get: the task, what counts as yes, the kit and how to stay safe.",
    "kit": "What one group gets. A tenth of the cupboard is kept back for spills and repairs.",
    "cupboard": "What there is to build with. Sections may share one; a plan reserves its kit there.",
    "access": "Support that some students need. It is set for a section before and after alike, shown to its teacher "
    "alone, and never counts as easier.",
    "held back": "A change that was looked at and not proposed, with the reason.",
}
"""Word -> what it means here."""


@dataclass(frozen=True)
class WordsPage(View):
    template: ClassVar[str] = "words.html"
    words: dict[str, str]


def routes(desk: Desk) -> list[Route]:
    def words(request: Request) -> Response:
        return desk.show(request, WordsPage(WORDS))

    return [Route("/words", words)]
