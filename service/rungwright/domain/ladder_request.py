"""What is asked about ladders: draft, check with edits, place, compare, merge."""

from datetime import date, timedelta
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.ask import Share, Units
from rungwright.domain.grades import Grade, grade_number
from rungwright.domain.ladder import MOST_RUNGS, Agreement, Ladder, Name, Settings, UsualClass
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.domain.strict import Day, Id, Lax, Strict


class Around(Strict):
    """A ladder around the version that a section has now."""

    section: Section
    settings: Settings = {}
    easier: int = Field(default=3, ge=0, le=MOST_RUNGS - 1, description="rungs below it")
    harder: int = Field(default=3, ge=0, le=MOST_RUNGS - 1, description="rungs above it")

    @model_validator(mode="after")
    def _some(self) -> Self:
        if not 1 <= self.easier + self.harder < MOST_RUNGS:
            raise ValueError(f"ask for 1 to {MOST_RUNGS - 1} rungs around it, easier and harder together")
        return self


class DraftPin(Strict):
    """Part of a rung that the draft must keep."""

    rung: int = Field(ge=1, le=MOST_RUNGS, description="counted from the gentlest, 1")
    settings: Settings = {}
    name: Name | None = None


class LadderDraftRequest(Strict):
    """Draft a ladder over `grades` (lowest and highest), or `around` a section's version."""

    challenge: Id
    grades: Annotated[tuple[Grade, Grade] | None, Lax] = None
    around: Around | None = None
    rungs: int | None = Field(default=None, ge=2, le=MOST_RUNGS, description="exactly so many; none: what suits")
    usual: UsualClass = UsualClass()
    name: Name | None = None
    pins: list[DraftPin] = Field(default=[], max_length=MOST_RUNGS)
    units: Annotated[Units, Lax] = Units.METRIC

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.grades is None) == (self.around is None):
            raise ValueError("give exactly one of `grades` (lowest and highest) and `around` (a section's version)")
        if self.grades and grade_number(self.grades[0]) > grade_number(self.grades[1]):
            raise ValueError("grades run from the lowest to the highest")
        if self.around and (self.rungs is not None or self.pins or self.usual != UsualClass()):
            raise ValueError(
                "around a section, `easier` and `harder` count the rungs and the class is the section's own: "
                "leave out rungs, pins and usual"
            )
        return self


class Insert(Strict):
    """A rung between two others; without settings, one half-way is worked out."""

    do: Literal["insert"]
    after: Id | None = Field(default=None, description="the rung below it; none: at the bottom")
    id: Id
    name: Name | None = None
    grades: list[Grade] | None = Field(default=None, min_length=1, max_length=13)
    settings: Settings | None = None


class Pin(Strict):
    do: Literal["pin"]
    rung: Id
    levers: list[Id] = Field(max_length=50, description="all that are pinned from now on; none frees the rung")


class Rename(Strict):
    do: Literal["rename"]
    rung: Id
    name: Name


class Change(Strict):
    """New values for some levers of a rung."""

    do: Literal["set"]
    rung: Id
    settings: Settings = Field(min_length=1)


class Remove(Strict):
    do: Literal["remove"]
    rung: Id


class Reorder(Strict):
    """The rungs in another order; refused where a rung would ask less than the one below it."""

    do: Literal["reorder"]
    order: list[Id] = Field(min_length=1, max_length=MOST_RUNGS)


class Agree(Strict):
    """Record what a team agreed about a rung; none takes it back."""

    do: Literal["agree"]
    rung: Id
    agreed: Agreement | None


class FirstRun(Strict):
    """The rung at which every section starts the year; none for no such rung."""

    do: Literal["first_run"]
    rung: Id | None


class NameLadder(Strict):
    do: Literal["name"]
    name: Name


class Publish(Strict):
    """Freeze the ladder as its next version; refused while a check fails."""

    do: Literal["publish"]
    on: Day
    by: str = Field(min_length=1, max_length=80, description="the team, never a person's name")


class Revise(Strict):
    """Open a published ladder for editing; the published version stays what it was."""

    do: Literal["revise"]


class Fork(Strict):
    """A ladder of one's own that starts as this one."""

    do: Literal["fork"]
    id: Id
    name: Name


Edit = Annotated[
    Insert | Pin | Rename | Change | Remove | Reorder | Agree | FirstRun | NameLadder | Publish | Revise | Fork,
    Field(discriminator="do"),
]


class LadderCheckRequest(Strict):
    """Check a ladder, after the edits if there are any, in order; the ladder is checked again after each."""

    ladder: Ladder
    edits: list[Edit] = Field(default=[], max_length=50)
    units: Annotated[Units, Lax] = Units.METRIC


class LadderPrintRequest(Strict):
    """A ladder to be printed."""

    ladder: Ladder
    units: Annotated[Units, Lax] = Units.BOTH


class Taught(Strict):
    """One run on a rung; settings that the run does not tell are the rung's.

    Off the ladder, it tells of the section and counts for no rung.
    """

    rung: Id | None = Field(description="none: a run off the ladder, at settings of its own")
    run: Run
    earlier_year: bool = Field(default=False, description="run in an earlier school year, so it starts no year now")


class Met(Strict):
    """An earlier year in which most of a section met this challenge."""

    grade: Grade
    rung: Id | None = None


class PlacedSection(Strict):
    section: Section
    taught: list[Taught] = Field(default=[], max_length=40)
    now_on: Id | None = Field(default=None, description="the rung it does now, if one was chosen")
    week: Day | None = Field(default=None, description="a day of the week it is taught in")
    met: Met | None = None

    @property
    def monday(self) -> date | None:
        return self.week and self.week - timedelta(days=self.week.weekday())


class LadderPlaceRequest(Strict):
    """Place sections on the rungs of a ladder, pool results by rung, and add up the kit."""

    ladder: Ladder
    sections: list[PlacedSection] = Field(min_length=1, max_length=60)
    band: Annotated[tuple[Share, Share], Lax] = Field(
        default=(0.7, 0.9), description="target share of groups that meet every criterion by the end"
    )
    units: Annotated[Units, Lax] = Units.METRIC

    @model_validator(mode="after")
    def _band_in_order(self) -> Self:
        if self.band[1] - self.band[0] < 0.05 - 1e-9:
            raise ValueError("band runs from low to high and is at least 0.05 wide, for example [0.7, 0.9]")
        return self


class LadderCompareRequest(Strict):
    first: Ladder
    second: Ladder
    units: Annotated[Units, Lax] = Units.METRIC


class LadderMergeRequest(Strict):
    """Two edits of one ladder put together; `base` is what both started from."""

    base: Ladder
    first: Ladder
    second: Ladder
    units: Annotated[Units, Lax] = Units.METRIC
