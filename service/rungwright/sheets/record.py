"""What happened: a sheet a group, and one for the whole class. Counts and marks only, no names of students."""

from __future__ import annotations

from rungwright.domain.grades import Band
from rungwright.sheets.bands import GUESS_FIRST, LINE_MM, points
from rungwright.sheets.blocks import Block, Break, Cell, Column, Frame, Heading, Line, Paragraph, Sheet, Table, Writing
from rungwright.sheets.brief import criteria_of
from rungwright.sheets.drawings import picture
from rungwright.sheets.speech import Speech

_CHANGE_LINES = {Band.K_2: 1, Band.G3_5: 3, Band.G6_8: 4, Band.G9_12: 4}
_DRAWING_MM = 50
POSITIONS = "load_positions"
"""The lever of a criterion that is told as k of n."""
NOT_NOW = Cell(fill=True)
"""Where there is nothing to mark, since the test comes in the second round alone."""


def record(speech: Speech, *, large: bool) -> Sheet:
    label = speech.label
    blocks: list[Block] = [_results(speech)]
    if speech.again:
        blocks.append(
            Writing(label=label("changed") or "", lines=_CHANGE_LINES[speech.band], line_mm=LINE_MM[speech.band])
        )
    blocks += [
        Frame(label=label("draw") or "", height_mm=_DRAWING_MM),
        Break(),
        Heading(text=label("tally") or ""),
        Paragraph(
            line=Line(id="tally/line", text=label("tally_line" if speech.again else "tally_once") or ""), size="small"
        ),
        _tally(speech),
    ]
    return Sheet(
        name="record",
        language=speech.language,
        title=label("record") or "",
        section=speech.answer.section.label,
        blanks=[label("group") or "", label("date") or ""],
        points=points(speech.band, large=large),
        blocks=blocks,
    )


def _results(speech: Speech) -> Table:
    label = speech.label
    columns = [Column(title=label("test") or "", width="auto")]
    if speech.band in GUESS_FIRST:
        columns.append(Column(title=label("guess") or ""))
    columns.append(Column(title=label("first_test" if speech.again else "test_once") or "", width=1.4))
    if speech.again:
        columns.append(Column(title=label("last_test") or "", width=1.4))
    rows, only_last = [], _only_last(speech)
    for name in criteria_of(speech):
        words, layout = speech.challenge.criteria[name], speech.layout.criteria[name]
        title = speech.text(words.name) or name
        cell = Cell(text=title, bold=True, picture=picture(layout.picture), alt=title)
        spots = int(speech.settings[POSITIONS]) if POSITIONS in layout.levers else 1
        mark = Cell(boxes=_marks(speech, spots))
        guess = [Cell(boxes=[label("yes") or "", label("no") or ""])] if speech.band in GUESS_FIRST else []
        marks = [NOT_NOW if name in only_last else mark, mark] if speech.again else [mark]
        rows.append([cell, *guess, *marks])
    return Table(columns=columns, rows=rows, row_mm=LINE_MM[speech.band] * 1.4)


def _marks(speech: Speech, spots: int) -> list[str]:
    """Yes, no, not tested; with several load positions how many held, k of n."""
    label = speech.label
    if spots > 1:
        held = [label("of", k=k, n=spots) or "" for k in range(spots, -1, -1)]
        return [*held, label("not_done") or ""]
    marks = [label("yes") or "", label("no") or ""]
    # The youngest leave a box blank where there was no test.
    return marks if speech.band == Band.K_2 else [*marks, label("not_done") or ""]


def _only_last(speech: Speech) -> set[str]:
    """Criteria of the wet tests where these come once, in the second round."""
    if speech.settings.get("first_round") != "dry_tests" or not speech.again:
        return set()
    tests = speech.base.challenges[speech.answer.challenge.id].tests
    return {criterion for test in tests if test.leaves == "wet" for criterion in test.criteria}


def _tally(speech: Speech) -> Table:
    label, names, only_last = speech.label, criteria_of(speech), _only_last(speech)
    columns = [Column(title=label("group") or "", width="auto", align="center")]
    for name in names:
        columns.append(Column(title=speech.text(speech.challenge.criteria[name].name) or name, align="center"))
    columns.append(Column(title=label("all_met") or "", align="center"))
    # A stroke parts the first mark from the last; the last column is about all criteria.
    strokes = ["/" if speech.again and name not in only_last else "" for name in [*names, ""]]
    groups = speech.answer.section.groups
    rows = [[Cell(text=str(g), bold=True), *(Cell(text=s) for s in strokes)] for g in range(1, groups + 1)]
    rows.append([Cell(text=label("count") or "", bold=True, fill=True), *(Cell(text=s, fill=True) for s in strokes)])
    return Table(columns=columns, rows=rows, row_mm=8)
