"""A teacher's own lines on a sheet: reworded, taken out, added, by the ids of the sheet's lines."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StringConstraints

from rungwright.domain.strict import Strict

Text = Annotated[str, StringConstraints(min_length=1, max_length=400)]
LineId = Annotated[str, StringConstraints(max_length=120)]


class Added(Strict):
    after: LineId = Field(description="the line it stands below")
    text: Text


class Edits(Strict):
    """Changes of one sheet in one language. Lines that keep people safe stay as they are."""

    reword: dict[LineId, Text] = Field(default={}, max_length=100)
    remove: list[LineId] = Field(default=[], max_length=100)
    add: list[Added] = Field(default=[], max_length=40)

    @property
    def named(self) -> set[str]:
        return {*self.reword, *self.remove, *(a.after for a in self.add)}
