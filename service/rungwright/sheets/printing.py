"""Which sheets there are, and one of them as a PDF."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

from rungwright.sheets import typesetting
from rungwright.sheets.blocks import Sheet
from rungwright.sheets.brief import brief
from rungwright.sheets.calls import calls
from rungwright.sheets.discussion import discussion
from rungwright.sheets.edits import FixedLine, edited
from rungwright.sheets.figures import figures
from rungwright.sheets.kit import kit
from rungwright.sheets.lesson import Lesson, NotPrintable
from rungwright.sheets.letter import letter
from rungwright.sheets.questions import questions
from rungwright.sheets.record import record
from rungwright.sheets.speech import Speech
from rungwright.sheets.stations import stations
from rungwright.sheets.teacher import teacher


class SheetName(StrEnum):
    BRIEF = "brief"
    RECORD = "record"
    FIGURES = "figures"
    STATIONS = "stations"
    CALLS = "calls"
    QUESTIONS = "questions"
    DISCUSSION = "discussion"
    LETTER = "letter"
    TEACHER = "teacher"
    KIT = "kit"


class NotNeeded(NotPrintable):
    """There is nothing to put on this sheet."""


NOT_NEEDED = {
    SheetName.FIGURES: "this challenge has no figures, so there is no sheet of them",
    SheetName.CALLS: "groups are not called to stations in this lesson, so there is no calling order",
    SheetName.QUESTIONS: "nothing is asked of the groups in this lesson",
    SheetName.LETTER: "the cupboard lacks nothing that a family could give, so there is no letter to print",
}

ForEachLanguage = Callable[[Speech, Lesson], Sheet | None]
FOR_THE_CLASS: dict[SheetName, ForEachLanguage] = {
    SheetName.BRIEF: lambda speech, lesson: brief(speech, large=lesson.wanted.large),
    SheetName.RECORD: lambda speech, lesson: record(speech, large=lesson.wanted.large),
    SheetName.FIGURES: lambda speech, lesson: figures(speech, large=lesson.wanted.large, paper=lesson.wanted.size),
    SheetName.STATIONS: lambda speech, lesson: stations(
        speech, large=lesson.wanted.large, alone=len(lesson.wanted.languages) == 1
    ),
    SheetName.CALLS: lambda speech, lesson: calls(speech, large=lesson.wanted.large),
    SheetName.QUESTIONS: lambda speech, lesson: questions(speech, large=lesson.wanted.large),
    SheetName.DISCUSSION: lambda speech, lesson: discussion(speech, large=lesson.wanted.large),
    SheetName.LETTER: lambda speech, lesson: letter(
        speech, large=lesson.wanted.large, needed_by=lesson.wanted.needed_by
    ),
}
FOR_THE_TEACHER: dict[SheetName, Callable[[Lesson], Sheet]] = {
    SheetName.TEACHER: lambda lesson: teacher(lesson, large=lesson.wanted.large),
    SheetName.KIT: lambda lesson: kit(lesson, large=lesson.wanted.large),
}


def sheets_of(lesson: Lesson, name: SheetName) -> list[Sheet]:
    """The sheet in each language that is wanted; those of the teacher in the language of the rules. Empty where this
    lesson needs no such sheet. Raises NotPrintable for edits of what must stay."""
    if name in FOR_THE_TEACHER:
        made = [FOR_THE_TEACHER[name](lesson)]
    else:
        made = [FOR_THE_CLASS[name](speech, lesson) for speech in lesson.speeches]
    sheets = [sheet for sheet in made if sheet is not None]
    try:
        sheets = [_with_edits(lesson, sheet) for sheet in sheets]
    except FixedLine as error:
        raise NotPrintable("edits", str(error)) from None
    if len({len(sheet.blocks) for sheet in sheets}) > 1:
        raise NotPrintable("edits", f"take the same parts of the {name} out in both languages, or in neither")
    return sheets


def _with_edits(lesson: Lesson, sheet: Sheet) -> Sheet:
    edits = lesson.wanted.edits.get((sheet.name, sheet.language))
    return edited(sheet, edits) if edits else sheet


def printed(lesson: Lesson, name: SheetName) -> bytes:
    """The sheet as a PDF. Raises NotNeeded where this lesson needs no such sheet, TypesettingError."""
    made = sheets_of(lesson, name)
    if not made:
        raise NotNeeded("section", NOT_NEEDED[name])
    try:
        return typesetting.pdf(made, lesson.wanted.size)
    except typesetting.UnknownLetters as error:
        # Our own words keep to the font; a section's label, or a teacher's own line, may not.
        raise NotPrintable("section", f"{error}: write the label, and lines of your own, without") from None
