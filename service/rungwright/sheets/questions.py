"""What to ask the groups, and when: for whoever goes round. The teacher's own tries stand on the teacher's pages."""

from __future__ import annotations

from rungwright.domain.recommendation import Prompt
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets.bands import points
from rungwright.sheets.blocks import Block, Line, Lines, Paragraph, Sheet
from rungwright.sheets.speech import Speech

FIRST = "plan"
"""The moment before what is asked about the criteria; all others come after."""
WHILE_BUILDING = ("stuck", "finished_early")
"""Prompts that are asked when the moment comes."""


def questions(speech: Speech, *, large: bool) -> Sheet | None:
    """None where the lesson has no prompts for groups."""
    asked: dict[str, list[Line]] = {}
    for prompt in for_groups(speech):
        lines = [Line(id=f"ask/{prompt.rule.id}/{i}", text=text) for i, text in enumerate(asked_in(speech, prompt))]
        asked.setdefault(prompt.about, []).extend(lines)
    if not asked:
        return None
    told: list[Block] = [Paragraph(line=Line(id="ask/line", text=speech.label("ask_line") or ""))]
    order = [FIRST, *speech.challenge.criteria, *speech.common.moments]
    for about in sorted(asked, key=order.index):
        told.append(Lines(heading=_heading(speech, about), lines=asked[about]))
    return Sheet(
        name="questions",
        language=speech.language,
        title=speech.label("ask") or "",
        section=speech.answer.section.label,
        blanks=[],
        points=points(speech.band, large=large),
        blocks=told,
    )


def for_groups(speech: Speech) -> list[Prompt]:
    return [prompt for prompt in speech.answer.prompts if "/teacher/" not in prompt.rule.id]


def asked_in(speech: Speech, prompt: Prompt) -> list[str]:
    """The questions of a prompt in this language."""
    if speech.language == RULES_LANGUAGE:
        return list(prompt.questions)
    return list(speech.common.questions[prompt.rule.id])


def _heading(speech: Speech, about: str) -> str:
    words = speech.challenge.criteria.get(about)
    return speech.text(words.name if words else speech.common.moments[about]) or about
