"""Every text of a sheet."""

from __future__ import annotations

from collections.abc import Iterator

from rungwright.sheets import lines_of
from rungwright.sheets.blocks import Cards, Frame, Heading, Lines, Ruler, Sheet, Table, Writing


def texts_of(sheet: Sheet) -> Iterator[str]:
    """All that is read on it, headings and tables included."""
    yield sheet.title
    yield from sheet.blanks
    yield from (line.text for line in lines_of(sheet))
    for block in sheet.blocks:
        if isinstance(block, Heading):
            yield block.text
        elif isinstance(block, Lines) and block.heading:
            yield block.heading
        elif isinstance(block, Cards):
            for card in block.cards:
                yield from (card.title, card.counts)
        elif isinstance(block, Table):
            yield from (column.title for column in block.columns)
            for row in block.rows:
                for cell in row:
                    yield from (cell.text, *cell.boxes)
        elif isinstance(block, (Writing, Frame)):
            yield block.label
        elif isinstance(block, Ruler):
            yield block.text


def sentences_text(sheet: Sheet) -> str:
    """What is read as sentences; lists of things and headings are left out."""
    return " ".join(t for t in dict.fromkeys(texts_of(sheet)) if t.endswith((".", "?", "!")))
