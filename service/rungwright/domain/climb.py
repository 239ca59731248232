"""How a challenge is laid out as a ladder: what stays the same everywhere, what climbs, and what each step asks."""

from typing import Self

from pydantic import Field, model_validator

from rungwright.domain.grades import Band
from rungwright.domain.strict import Id, Setting, Strict


class Demand(Strict):
    """What students must now do or reason at one setting of a lever, with the standards that it serves."""

    name: str = Field(min_length=1, max_length=60, description="of a rung where this is the main thing")
    text: str = Field(min_length=1)
    standards: list[Id] = Field(min_length=1, description="at most one a band")


class Climb(Strict):
    """A lever that climbs along a ladder. `settings` run from gentlest to hardest; they may leave out some."""

    lever: Id
    criterion: Id = Field(description="what it is mostly about: one step a rung on each of these")
    settings: list[Setting] = Field(min_length=2)
    pull: float = Field(default=1, gt=0, le=5, description="how much it matters that it stands where its grade has it")
    asks: dict[str, Demand] = Field(description="setting -> what is newly asked on reaching it; all but the gentlest")


class ClimbPlan(Strict):
    """The ladder of one challenge; its id is the challenge's."""

    id: Id
    same: list[Id] = Field(description="levers with one value on every rung, so that results can be compared")
    locked: str = Field(description="what else is the same on every rung, in words")
    first: Demand
    climbs: list[Climb] = Field(min_length=1, description="the most worthwhile first: ties go that way")

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        levers = [climb.lever for climb in self.climbs]
        if len({*levers, *self.same}) != len(levers) + len(self.same):
            raise ValueError("a lever stands once: it either stays the same or climbs")
        return self

    def climb(self, lever: str) -> Climb:
        return next(c for c in self.climbs if c.lever == lever)


def standard_for(demand: Demand, band: Band, bands: dict[str, list[str]]) -> str | None:
    """The standard of a band; `bands` lists the bands of every standard. None where none is of this band."""
    return next((s for s in demand.standards if band.value in bands[s]), None)
