"""A teacher's own lines on a sheet: reworded, taken out, added. Kept apart, so that a new answer keeps them."""

from __future__ import annotations

from collections.abc import Iterator

from rungwright.domain.own_lines import Added, Edits
from rungwright.sheets.blocks import Block, Card, Cards, Line, Lines, Paragraph, Sheet

__all__ = ["OWN", "Added", "Edits", "FixedLine", "edited", "lines_of", "waiting"]

OWN = "own/"
"""Begins the id of a line that was added."""


class FixedLine(ValueError):
    """A line that keeps people safe was to be changed; `line` is its id."""

    def __init__(self, line: str):
        super().__init__(f"the line {line!r} keeps people safe and stays as it is; add one of your own below it")
        self.line = line


def lines_of(sheet: Sheet) -> Iterator[Line]:
    """The lines of a sheet that have an id, in order."""
    for block in sheet.blocks:
        if isinstance(block, Paragraph):
            yield block.line
        elif isinstance(block, Lines):
            yield from block.lines
        elif isinstance(block, Cards):
            for card in block.cards:
                yield from (card.must, *card.how, card.yes)


def edited(sheet: Sheet, edits: Edits) -> Sheet:
    """The sheet with a teacher's changes. Raises FixedLine.

    A change of a line that this sheet does not have now changes nothing: it waits until the line is back (`waiting`).
    """
    for line in lines_of(sheet):
        if line.fixed and (line.id in edits.reword or line.id in edits.remove):
            raise FixedLine(line.id)
    blocks = [changed for block in sheet.blocks if (changed := _block(block, edits)) is not None]
    return sheet.model_copy(update={"blocks": blocks})


def waiting(sheet: Sheet, edits: Edits) -> list[str]:
    """Ids that the changes name and the sheet does not have."""
    return sorted(edits.named - {line.id for line in lines_of(sheet)})


def _block(block: Block, edits: Edits) -> Block | None:
    if isinstance(block, Paragraph):
        kept = _lines([block.line], edits)
        # What is added below a paragraph goes on in it.
        line = kept[0].model_copy(update={"text": " ".join(part.text for part in kept)}) if kept else None
        return block.model_copy(update={"line": line}) if line else None
    if isinstance(block, Lines) and block.lines:
        kept = _lines(block.lines, edits)
        return block.model_copy(update={"lines": kept}) if kept else None
    if isinstance(block, Cards):
        return block.model_copy(update={"cards": [_card(card, edits) for card in block.cards]})
    return block


def _card(card: Card, edits: Edits) -> Card:
    """What must be and what counts as yes can be reworded, not taken out: a criterion without them is none."""
    must, yes = (
        line.model_copy(update={"text": edits.reword.get(line.id, line.text)}) for line in (card.must, card.yes)
    )
    added = [a for a in edits.add if a.after in (card.must.id, card.yes.id)]
    own = [Line(id=f"{OWN}{card.id}/{i}", text=a.text) for i, a in enumerate(added)]
    return card.model_copy(update={"must": must, "how": [*_lines(card.how, edits), *own], "yes": yes})


def _lines(lines: list[Line], edits: Edits) -> list[Line]:
    found = []
    for line in lines:
        if line.id not in edits.remove:
            found.append(line.model_copy(update={"text": edits.reword.get(line.id, line.text)}))
        own = [a.text for a in edits.add if a.after == line.id]
        found += [Line(id=f"{OWN}{line.id}/{i}", text=text) for i, text in enumerate(own)]
    return found
