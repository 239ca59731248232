"""What is asked: one section, one challenge, a direction."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from rungwright.domain.challenge import Challenge
from rungwright.domain.keeping import KeptId, Today
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Id, Lax, Setting, Strict


class Direction(StrEnum):
    EASIER = "easier"
    FIT = "fit"
    HARDER = "harder"


class Include(StrEnum):
    """Parts of an answer that are made only when asked for."""

    TIMETABLE = "timetable"
    KIT = "kit"
    BRIEF = "brief"
    EXPLANATION = "explanation"


class Units(StrEnum):
    METRIC = "metric"
    US = "us"
    BOTH = "both"


class Language(StrEnum):
    EN = "en"


Share = Annotated[float, Field(gt=0, lt=1)]


class Ask(Strict):
    direction: Annotated[Direction, Lax] = Direction.FIT
    notches: int = Field(default=1, ge=1, le=3, description="how far easier or harder moves")
    band: Annotated[tuple[Share, Share], Lax] = Field(
        default=(0.7, 0.9), description="target share of groups that meet every criterion by the end"
    )
    max_changes: int = Field(default=3, ge=1, le=3)
    pinned: list[Id] = Field(default=[], max_length=50, description="levers that must stay as they are")
    declined: list[Id] = Field(default=[], max_length=50, description="levers the teacher does not want to change")

    @model_validator(mode="after")
    def _band_in_order(self) -> Self:
        if self.band[1] - self.band[0] < 0.05 - 1e-9:
            raise ValueError("band runs from low to high and is at least 0.05 wide, for example [0.7, 0.9]")
        return self


class _Asked(Strict):
    challenge: Id | Challenge = Field(description="a challenge of the catalogue by id, or a whole one")
    settings: dict[Id, Setting] = Field(default={}, max_length=80, description="levers that are set already")
    ask: Ask = Ask()
    include: list[Annotated[Include, Lax]] = Field(default=[], max_length=4)
    units: Annotated[Units, Lax] = Units.METRIC
    language: Annotated[Language, Lax] = Language.EN


class RecommendationRequest(_Asked):
    """Ask for one recommendation."""

    section: Section
    runs: list[Run] = Field(default=[], max_length=100)


class RecommendationCall(_Asked):
    """Ask for one recommendation, for a section that is told here or for one that is kept."""

    section: Section | None = Field(default=None, description="give either this or `section_id`")
    section_id: KeptId | None = Field(default=None, description="a kept section")
    today: Today | None = Field(default=None, description="what is different this once for the kept section")
    runs: list[Run] | None = Field(
        default=None, max_length=100, description="omitted: the runs that are kept of the section; empty: none"
    )
    keep: bool | None = Field(
        default=None, description="whether the answer is kept; omitted: where `section_id` is given"
    )

    @model_validator(mode="after")
    def _one_section(self) -> Self:
        if (self.section is None) == (self.section_id is None):
            raise ValueError("give exactly one of `section` and `section_id`")
        if self.today is not None and self.section_id is None:
            raise ValueError("`today` belongs to `section_id`; a section that is told here is as it is today")
        return self

    @property
    def kept(self) -> bool:
        return self.section_id is not None if self.keep is None else self.keep

    def complete(self, section: Section, runs: list[Run]) -> RecommendationRequest:
        """The request with the section and the runs that it means."""
        asked = {name: getattr(self, name) for name in _Asked.model_fields}
        return RecommendationRequest(**asked, section=section, runs=runs)
