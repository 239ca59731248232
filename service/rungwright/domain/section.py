"""A section: who they are, how long they have, what there is. Counts only; no student's name or record."""

from collections.abc import Sequence
from enum import StrEnum
from functools import cached_property
from typing import Annotated

from pydantic import Field, field_validator

from rungwright.domain.grades import Band, Grade, band_of, grade_number, middle_grade
from rungwright.domain.readings import Readings
from rungwright.domain.strict import Id, Lax, Strict


class Support(StrEnum):
    """A need that a section's access settings answer. Only counts are kept, and never shown in an answer."""

    FINE_MOTOR = "fine_motor"
    READING = "reading"
    NEW_TO_LANGUAGE = "new_to_language"
    MOBILITY = "mobility"
    SENSORY = "sensory"
    ATTENTION = "attention"
    MAY_MOUTH_OBJECTS = "may_mouth_objects"


class Session(Strict):
    minutes: int = Field(ge=5, le=240, description="length of the lesson in minutes")


class Station(Strict):
    test: Id = Field(description="a test of the challenge, for example wind, rain, load")
    copies: int = Field(ge=0, le=12, description="sets of this test that can run side by side")


class Stock(Strict):
    material: Id = Field(description="a material of the catalogue")
    quantity: float = Field(ge=0, le=1_000_000, description="how much there is, in the material's catalogue unit")


class Section(Strict):
    """A class group that meets together. An omitted list means the challenge's usual; an empty one means none."""

    label: str = Field(min_length=1, max_length=80, description="a name for the section, never of a person")
    grades: Annotated[list[Grade], Field(min_length=1, max_length=13, description="one grade, or several if mixed")]
    students: int = Field(ge=1, le=60)
    group_size: int = Field(ge=1, le=8, description="students a group; uneven groups are worked out")
    sessions: list[Session] = Field(min_length=1, max_length=6, description="the lessons given to this challenge")
    adults: int = Field(default=1, ge=1, le=12, description="adults in the room, the teacher included")
    stations: list[Station] | None = Field(default=None, max_length=12)
    materials: list[Stock] | None = Field(default=None, max_length=100, description="the section's cupboard")
    tools: list[Id] | None = Field(default=None, max_length=40)
    supports: dict[Annotated[Support, Lax], Annotated[int, Field(ge=0, le=60)]] | None = Field(default=None)
    exclusions: list[Id] | None = Field(
        default=None, max_length=200, description="materials, tools or allergens that must not be used"
    )
    measured: Readings | None = Field(default=None, description="what was measured in the room, for the checks")
    kept_levers: list[Id] | None = Field(
        default=None, max_length=50, description="levers that always stay as they are; never proposed for this section"
    )

    @field_validator("grades")
    @classmethod
    def _grades_in_order(cls, value: list[str]) -> list[str]:
        return sorted(set(value), key=grade_number)

    @cached_property
    def group_sizes(self) -> tuple[int, ...]:
        return group_sizes(self.students, self.group_size)

    @cached_property
    def groups(self) -> int:
        return len(self.group_sizes)

    @cached_property
    def grade_low(self) -> int:
        return grade_number(self.grades[0])

    @cached_property
    def grade_high(self) -> int:
        return grade_number(self.grades[-1])

    @cached_property
    def grade_mid(self) -> float:
        return middle_grade(self.grades)

    @cached_property
    def band(self) -> Band:
        """The band that pitches the criteria: the middle of the grades."""
        return band_of(self.grade_mid)

    @cached_property
    def band_low(self) -> Band:
        """The band that limits tools and access: the lowest grade."""
        return band_of(self.grade_low)

    @cached_property
    def minutes(self) -> int:
        """All lessons together."""
        return sum(session.minutes for session in self.sessions)


def group_sizes(students: int, size: int) -> tuple[int, ...]:
    """Sizes of the groups, largest group last where one is uneven; nobody is left alone unless groups are of one.

    27 in threes is nine of 3; 26 is eight of 3 and one of 2; 25 is seven of 3 and one of 4.

    Parameters: `students` 1..60, `size` 1..8.
    """
    full, left = divmod(students, size)
    if full == 0:
        return (students,)
    if left == 0:
        return (size,) * full
    if left == 1:
        return (*(size,) * (full - 1), size + 1)
    return (*(size,) * full, left)


def most_common(sizes: Sequence[int]) -> int:
    """The usual group size; the larger of two equally common ones."""
    return max(set(sizes), key=lambda size: (sizes.count(size), size))
