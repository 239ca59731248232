"""A letter that asks families for things the cupboard lacks. Nobody needs to buy anything."""

from __future__ import annotations

import math
from datetime import date

from rungwright.domain.recommendation import KitItem
from rungwright.rulebase.sheet_words import LetterWords
from rungwright.sheets.bands import LARGE_TEACHER_POINTS
from rungwright.sheets.blocks import Block, Line, Lines, Paragraph, Sheet
from rungwright.sheets.speech import Speech

POINTS = 12.0


def letter(speech: Speech, *, large: bool, needed_by: date | None) -> Sheet | None:
    """None where the cupboard lacks nothing that a family could have to spare."""
    # What has no name and no substitute cannot be asked for.
    lacking = [i for i in speech.answer.kit.items if i.short > 0 and (i.lever or i.instead_of)]
    if not lacking:
        return None
    words = speech.common.letter
    title = speech.text(speech.challenge.title) or speech.answer.challenge.label
    when = words.when.format(date=_said(words, needed_by)) if needed_by else words.when_open
    closing = ("only_spare", "clean", "never", "enough", "thanks")
    blocks: list[Block] = [
        Paragraph(line=Line(id="letter/greeting", text=words.greeting)),
        Paragraph(line=Line(id="letter/what", text=words.what.format(title=title))),
        Paragraph(line=Line(id="letter/when", text=when)),
        Lines(
            heading=words.things,
            marker="box",
            lines=[Line(id=f"letter/{item.lever or 'figures'}", text=_thing(speech, item)) for item in lacking],
        ),
        *(
            Paragraph(line=Line(id=f"letter/{name}", text=getattr(words, name), fixed=name in ("never", "only_spare")))
            for name in closing
        ),
    ]
    return Sheet(
        name="letter",
        language=speech.language,
        title=words.title,
        section=speech.answer.section.label,
        blanks=[],
        points=LARGE_TEACHER_POINTS if large else POINTS,
        blocks=blocks,
    )


def _thing(speech: Speech, item: KitItem) -> str:
    words = speech.common.letter
    instead = [speech.material(m) for m in item.instead_of]
    if item.material is None and item.lever is None:
        return words.card.format(n=math.ceil(item.short), things=speech.listed(instead, either=True))
    said = f"{speech.kit_noun(item, 2)}: {words.amount.format(amount=speech.amount(item, item.short))}"
    if instead:
        said += f" ({words.or_.format(things=speech.listed(instead, either=True))})"
    return said


def _said(words: LetterWords, day: date) -> str:
    """The day with its names: digits alone are read one way in one country and another way in the next."""
    weekday, month = words.weekdays[day.weekday()], words.months[day.month - 1]
    return words.day.format(weekday=weekday, day=day.day, month=month, year=day.year)
