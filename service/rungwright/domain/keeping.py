"""What is kept between lessons: drafts of sections, cupboards, runs and lessons, and what was decided."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from rungwright.domain.run import Run
from rungwright.domain.section import Section, Stock
from rungwright.domain.strict import Day, Lax, Setting, Strict


def _without_nul(text: str) -> str:
    if "\0" in text:
        raise ValueError("must not hold the character NUL")
    return text


Text = Annotated[str, AfterValidator(_without_nul)]
"""A text that every database can hold."""

KeptId = Annotated[Text, Field(min_length=1, max_length=60, description="an id that this service gave")]


class Role(StrEnum):
    """What a key may do: see `store.callers`."""

    TEACHER = "teacher"
    COACH = "coach"
    PLANNER = "planner"


class Today(Strict):
    """What is different this once; the section itself stays as it is."""

    present: int | None = Field(default=None, ge=1, le=60, description="students who are there")
    adults: int | None = Field(default=None, ge=1, le=12)
    minutes: int | None = Field(default=None, ge=5, le=240, description="length of the next lesson in minutes")

    def changed(self, section: Section) -> Section:
        """The section as it is today. Needs of more students than are present count for those present."""
        data = section.model_dump()
        if self.present is not None:
            data["students"] = self.present
            data["supports"] = {k: min(n, self.present) for k, n in (section.supports or {}).items()} or None
        if self.adults is not None:
            data["adults"] = self.adults
        if self.minutes is not None:
            data["sessions"] = [{"minutes": self.minutes}, *data["sessions"][1:]]
        return Section.model_validate(data)


class SectionDraft(Strict):
    """A section as it is sent. With a cupboard, the materials are those of the cupboard."""

    section: Section
    cupboard_id: KeptId | None = Field(default=None, description="the cupboard it draws from; sections may share one")
    archived: bool = Field(default=False, description="no longer taught: kept, but left out of lists")

    @model_validator(mode="after")
    def _one_cupboard(self) -> Self:
        if self.cupboard_id is not None and self.section.materials is not None:
            raise ValueError("give either `cupboard_id` or `section.materials`, not both")
        return self


class CupboardDraft(Strict):
    """A cupboard as it is sent: everything in it, each material once."""

    label: Text = Field(min_length=1, max_length=80, description="a name for the cupboard, never of a person")
    materials: list[Stock] = Field(max_length=100)
    archived: bool = Field(default=False, description="no longer used: kept, but left out of lists")

    @field_validator("materials")
    @classmethod
    def _each_once(cls, value: list[Stock]) -> list[Stock]:
        names = [stock.material for stock in value]
        if twice := sorted({n for n in names if names.count(n) > 1}):
            raise ValueError(f"{twice[0]!r} stands twice; give each material once")
        return value


class RunDraft(Strict):
    """A run as it is sent."""

    run: Run
    withdrawn: bool = Field(default=False, description="entered by mistake: kept and shown, but it teaches nothing")


class LessonState(StrEnum):
    """Planned reserves the materials, taught takes what is not reused, dropped gives all back."""

    PLANNED = "planned"
    TAUGHT = "taught"
    DROPPED = "dropped"


class LessonDraft(Strict):
    """A lesson as it is sent: what a section will take from its cupboard on a day."""

    section_id: KeptId
    on: Day
    recommendation_id: KeptId | None = Field(default=None, description="a kept answer whose kit the lesson takes")
    materials: list[Stock] | None = Field(
        default=None, max_length=100, description="what it takes; omitted, the kit of the kept answer"
    )
    state: Annotated[LessonState, Lax] = LessonState.PLANNED

    @model_validator(mode="after")
    def _takes_something(self) -> Self:
        if self.materials is None and self.recommendation_id is None:
            raise ValueError("give `materials`, or the `recommendation_id` whose kit the lesson takes")
        return self


class Choice(StrEnum):
    KEPT = "kept"
    CHANGED = "changed"
    DECLINED = "declined"


class DecisionDraft(Strict):
    """What was decided about one proposal. A later decision about the same proposal counts instead."""

    proposal: KeptId
    choice: Annotated[Choice, Lax]
    value: Setting | None = Field(default=None, description="the setting used in the end, where it was changed")
    reason: Text | None = Field(default=None, max_length=60, description="a code of the proposal's `decline_reasons`")
    note: Text | None = Field(
        default=None, min_length=1, max_length=500, description="about the challenge; never about a student"
    )

    @model_validator(mode="after")
    def _fits_the_choice(self) -> Self:
        if (self.choice == Choice.CHANGED) != (self.value is not None):
            raise ValueError("`value` belongs to `changed`, and only there")
        if (self.choice == Choice.DECLINED) != (self.reason is not None):
            raise ValueError("`reason` belongs to `declined`, and only there")
        return self


class RolloverDraft(Strict):
    """A section goes into a new year: the same students a grade up, in groups that are made anew, or others."""

    label: str | None = Field(default=None, min_length=1, max_length=80, description="omitted: as before")
    students: int | None = Field(default=None, ge=1, le=60, description="omitted: as before")
    grade_up: bool = Field(default=True, description="no: the grades stay, as where a teacher keeps a grade")
    most_are_new: bool = Field(
        default=False, description="most students are new to it: earlier results say nothing of them"
    )
