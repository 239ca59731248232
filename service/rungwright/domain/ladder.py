"""A ladder: one shared set of rungs for a challenge, as a document that is kept, shared and edited.

Nothing computed stands in it. The document is also the file that coaches share: JSON, every field below, unknown ones
refused; reading a file and writing it again gives the same document.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from rungwright.domain.grades import Grade, grade_number
from rungwright.domain.section import Section, Session, Station, Stock
from rungwright.domain.strict import Day, Id, Setting, Strict

FORMAT = "rungwright-ladder"
MOST_RUNGS = 12

LONGEST_NAME = 60
Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Settings = Annotated[dict[Id, Setting], Field(max_length=80)]


class Agreement(Strict):
    """What a coach team agreed on a day: a source of the kind *agreed here*."""

    by: str = Field(min_length=1, max_length=80, description="the team, never a person's name")
    on: Day
    text: str = Field(min_length=1, max_length=300)


class UsualClass(Strict):
    """The class that the rungs are checked for: what sections of the school have in common."""

    students: int = Field(default=24, ge=1, le=60)
    group_size: int = Field(default=3, ge=1, le=8)
    sessions: list[Session] = Field(
        default=[Session(minutes=50), Session(minutes=50)], min_length=1, max_length=6, description="lessons given"
    )
    adults: int = Field(default=1, ge=1, le=12)
    stations: list[Station] | None = Field(default=None, max_length=12)
    materials: list[Stock] | None = Field(default=None, max_length=100, description="the cupboard")
    tools: list[Id] | None = Field(default=None, max_length=40)
    exclusions: list[Id] | None = Field(default=None, max_length=200)

    def section(self, label: str, grades: list[str]) -> Section:
        return Section(label=label, grades=grades, **{name: getattr(self, name) for name in type(self).model_fields})


class Rung(Strict):
    """`settings` are those of the levers that climb; the ladder's `same` come on top, the rest is the teacher's."""

    id: Id = Field(description="stays through every edit")
    name: Name
    grades: list[Grade] = Field(min_length=1, max_length=13, description="whom it is meant for: their limits hold")
    settings: Settings
    pinned: list[Id] = Field(default=[], max_length=50, description="levers that a new draft leaves as they are")
    agreed: Agreement | None = None

    @field_validator("grades")
    @classmethod
    def _in_order(cls, value: list[str]) -> list[str]:
        return sorted(set(value), key=grade_number)

    @model_validator(mode="after")
    def _pins_are_set(self) -> Self:
        if missing := sorted(set(self.pinned) - set(self.settings)):
            raise ValueError(f"{missing[0]} is pinned, and the rung does not set it")
        return self


class Published(Strict):
    """A published version never changes."""

    version: int = Field(ge=1)
    on: Day
    by: str = Field(min_length=1, max_length=80, description="the team, never a person's name")


class Origin(Strict):
    """The version that a ladder was forked from."""

    ladder: Id
    version: int = Field(ge=0, description="0 where it was not published")


class MadeWith(Strict):
    """The rule base that it was drafted with. It says which rules, and binds nothing."""

    version: str
    digest: str


class Ladder(Strict):
    """The document; `format` and `format_version` say how to read the file."""

    format: Literal["rungwright-ladder"] = FORMAT
    format_version: Literal[1] = 1
    id: Id
    name: Name
    challenge: Id
    scale_grade: Grade = Field(description="demand is measured on the scale of a usual section of this grade")
    usual: UsualClass = UsualClass()
    same: Settings = Field(description="levers with one value on every rung")
    rungs: list[Rung] = Field(min_length=1, max_length=MOST_RUNGS, description="from the gentlest to the hardest")
    first_run: Id | None = Field(default=None, description="the rung at which every section starts the year")
    version: int = Field(default=0, ge=0, description="the last published version that this one builds on")
    published: Published | None = None
    forked_from: Origin | None = None
    made_with: MadeWith

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        ids = [rung.id for rung in self.rungs]
        if twice := next((i for i in ids if ids.count(i) > 1), None):
            raise ValueError(f"two rungs have the id {twice}")
        if self.first_run is not None and self.first_run not in ids:
            raise ValueError(f"first_run names {self.first_run}, which is no rung; there are {', '.join(ids)}")
        if self.published and self.published.version != self.version:
            raise ValueError("a published ladder has the version that was published")
        return self

    def rung(self, rung_id: str) -> Rung:
        """Raises KeyError."""
        return next((r for r in self.rungs if r.id == rung_id), None) or _no_rung(rung_id)

    @property
    def low(self) -> str:
        return min((g for r in self.rungs for g in r.grades), key=grade_number)

    @property
    def high(self) -> str:
        return max((g for r in self.rungs for g in r.grades), key=grade_number)


def _no_rung(rung_id: str) -> Rung:
    raise KeyError(rung_id)
