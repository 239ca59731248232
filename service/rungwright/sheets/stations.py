"""A card for each test, for the aide or the student who runs it."""

from __future__ import annotations

from rungwright.domain.recommendation import Caution
from rungwright.rulebase.sheet_words import Said, by_band
from rungwright.sheets.bands import points
from rungwright.sheets.blocks import Block, Break, Heading, Line, Lines, Paragraph, Sheet
from rungwright.sheets.brief import criteria_of, safety
from rungwright.sheets.speech import Speech

READ_STANDING = 2.0
"""Points more than on a page that is held in the hand."""


def stations(speech: Speech, *, large: bool, alone: bool) -> Sheet:
    """`alone`: no other language stands beside it, so that there is room for letters to be read standing."""
    blocks: list[Block] = []
    for station in speech.answer.kit.stations:
        if blocks:
            blocks.append(Break())
        blocks += _card(speech, station.test, station.things)
    return Sheet(
        name="stations",
        language=speech.language,
        title=speech.text(speech.challenge.title) or speech.answer.challenge.label,
        section=speech.answer.section.label,
        blanks=[],
        points=points(speech.band, large=large) + (READ_STANDING if alone and not large else 0),
        blocks=blocks,
    )


def _card(speech: Speech, test: str, things: list[str]) -> list[Block]:
    label, words = speech.label, speech.challenge.tests[test]
    other = next((by_band(texts, speech.band) for tool, texts in words.by.items() if tool in things), None)
    steps = other or by_band(words.steps, speech.band)
    criteria = [c for c in _criteria(speech, test) if c in criteria_of(speech)]
    levers = [lever for c in criteria for lever in speech.layout.criteria[c].at_station]
    said = speech.levers(Said(lever=lever) for lever in levers)
    at = f"station/{test}"
    yes = [(c, speech.text(speech.challenge.criteria[c].yes) or "") for c in criteria]
    return [
        Heading(text=label("station", test=speech.test(test)) or ""),
        Lines(
            heading=label("needs"),
            marker="box",
            columns=2,
            lines=[Line(id=f"{at}/needs/{thing}", text=_called(speech, thing)) for thing in things],
        ),
        *(
            [Lines(heading=label("settings"), lines=[Line(id=f"{at}/{v}", text=text) for v, text in said])]
            if said
            else []
        ),
        safety(speech, lambda caution: _here(speech, caution, things, criteria)),
        Lines(
            heading=label("steps"),
            marker="number",
            lines=[Line(id=f"{at}/step/{i}", text=speech.filled(text)) for i, text in enumerate(steps)],
        ),
        # What overflows onto the back of a card in large print: from what counts on, not one line alone.
        Lines(
            heading=label("counts"),
            framed=True,
            with_next=True,
            lines=[Line(id=f"{at}/yes/{c}", text=text) for c, text in yes],
        ),
        Lines(
            marker="bullet",
            with_next=True,
            lines=[Line(id=f"{at}/{name}", text=label(name) or "") for name in ("unsure", "slip", "broken")],
        ),
        Paragraph(line=Line(id=f"{at}/say", text=f"{label('say')}: {speech.text(words.say)}"), size="large"),
    ]


def _here(speech: Speech, caution: Caution, things: list[str], criteria: list[str]) -> bool:
    """Whether a caution is about this station: its tools, or settings that touch what it tests. One that is about
    neither holds everywhere."""
    tools = {str(e.value) for e in caution.reason.evidence if e.fact == "tool"}
    settings = [speech.base.levers.get(e.property) for e in caution.reason.evidence if e.fact == "now"]
    touched = {criterion for lever in settings if lever for criterion in lever.touches}
    return not (tools or touched) or bool(tools & set(things)) or bool(touched & set(criteria))


def _criteria(speech: Speech, test: str) -> list[str]:
    challenge = speech.base.challenges[speech.answer.challenge.id]
    return next(t.criteria for t in challenge.tests if t.id == test)


def _called(speech: Speech, thing: str) -> str:
    tools = speech.common.tools
    return tools[thing] if thing in tools else speech.material(thing)
