"""Questions for the talk about results, and what the materials of the kit can do."""

from __future__ import annotations

from rungwright.domain.grades import Band
from rungwright.rulebase.sheet_words import by_band
from rungwright.sheets.bands import LINE_MM, points
from rungwright.sheets.blocks import Block, Cell, Column, Heading, Line, Paragraph, Sheet, Table, Writing
from rungwright.sheets.brief import criteria_of
from rungwright.sheets.speech import Speech

_ANSWER_LINES = 2


def discussion(speech: Speech, *, large: bool) -> Sheet:
    label, line_mm = speech.label, LINE_MM[speech.band]
    blocks: list[Block] = [Paragraph(line=Line(id="talk/line", text=label("talk_line") or ""))]
    asked = [speech.text(speech.challenge.criteria[c].talk) or "" for c in criteria_of(speech)]
    for question in [*asked, label("talk_all" if speech.again else "talk_once") or ""]:
        if speech.band == Band.K_2:
            blocks.append(Paragraph(line=Line(id=f"talk/{len(blocks)}", text=question), size="large"))
        else:
            blocks.append(Writing(label=question, lines=_ANSWER_LINES, line_mm=line_mm))
    rows = _properties(speech)
    if rows:
        titles = [("material", 1.05), ("property", 1.1), ("try_it", 2.25), ("helped", 1.0), ("found", 1.4)]
        columns = [Column(title=label(name) or "", width=width) for name, width in titles]
        blocks += [Heading(text=label("properties") or ""), Table(columns=columns, rows=rows, row_mm=line_mm * 2)]
    return Sheet(
        name="discussion",
        language=speech.language,
        title=label("talk") or "",
        section=speech.answer.section.label,
        blanks=[label("group") or "", label("date") or ""],
        points=points(speech.band, large=large),
        blocks=blocks,
    )


def _properties(speech: Speech) -> list[list[Cell]]:
    """Properties of the materials in this kit, with the criteria of this lesson that they mattered for."""
    here, rows = criteria_of(speech), []
    for item in speech.answer.kit.items:
        if item.material is None or item.lever is None:
            continue
        for name, place in speech.base.properties.items():
            mattered = [c for c in place.criteria if c in here]
            if item.role not in place.roles or not mattered:
                continue
            words = speech.common.properties[name]
            tests = [speech.text(speech.challenge.criteria[c].name) or c for c in mattered]
            rows.append(
                [
                    Cell(text=speech.kit_noun(item, 2), bold=True),
                    Cell(text=by_band(words.name, speech.band)),
                    Cell(text=by_band(words.test, speech.band)),
                    Cell(text=speech.listed(t.lower() for t in tests)),
                    Cell(),
                ]
            )
    return rows
