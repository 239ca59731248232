"""A run: one enacted challenge with its results, as counts of groups."""

from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.strict import Day, Id, Lax, Setting, Strict


class Flag(StrEnum):
    """Something that keeps a run from teaching the model. It is kept and shown."""

    INTERRUPTED = "interrupted"
    KIT_RAN_OUT = "kit_ran_out"
    MANY_ABSENT = "many_absent"
    ADULT_BUILT_IT = "adult_built_it"


class Tally(Strict):
    """Groups that met a criterion, of those tested without help."""

    met: int = Field(ge=0, le=60)
    of: int = Field(ge=0, le=60)

    @model_validator(mode="after")
    def _not_more(self) -> Self:
        if self.met > self.of:
            raise ValueError(f"{self.met} groups met it, but only {self.of} were tested")
        return self


class Result(Strict):
    criterion: Id
    first: Tally | None = Field(default=None, description="first test")
    end: Tally | None = Field(default=None, description="by the end, after any second try")


Mark = Literal["yes", "no", "not_tested", "with_help"]


class GridRow(Strict):
    """One group's marks by criterion; a criterion left out was not tested."""

    first: dict[Id, Mark] = {}
    end: dict[Id, Mark] = {}


class PositionsHeld(Strict):
    """How many groups held the weight at k of the n spots: `counts[k]` groups held k."""

    of: int = Field(ge=1, le=6)
    counts: list[int] = Field(min_length=2, max_length=7)

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if len(self.counts) != self.of + 1 or any(c < 0 for c in self.counts):
            raise ValueError(f"counts must list {self.of + 1} numbers: groups that held 0, 1, ... {self.of} spots")
        return self


class Run(Strict):
    challenge: Id
    settings: dict[Id, Setting] | None = Field(
        default=None, description="settings of that day; those left out are taken as this section's start settings"
    )
    on: Day = Field(description="the day it was taught")
    groups: int = Field(ge=1, le=60)
    results: list[Result] | None = Field(default=None, max_length=12)
    grid: list[GridRow] | None = Field(default=None, max_length=60)
    positions_held: PositionsHeld | None = None
    minutes_over: float | None = Field(default=None, ge=-120, le=120, description="minutes over; early is negative")
    flags: list[Annotated[Flag, Lax]] = []

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if (self.results is None) == (self.grid is None):
            raise ValueError("give exactly one of `results` (counts) and `grid` (a row a group)")
        if self.grid is not None and len(self.grid) != self.groups:
            raise ValueError(f"the grid has {len(self.grid)} rows for {self.groups} groups")
        for result in self.results or ():
            for tally in (result.first, result.end):
                if tally and tally.of > self.groups:
                    raise ValueError(f"{result.criterion}: {tally.of} groups tested, but the run has {self.groups}")
        if self.positions_held and (told := sum(self.positions_held.counts)) > self.groups:
            raise ValueError(f"spots held: {told} groups are told of, but the run has {self.groups}")
        return self

    def tallies(self) -> dict[str, tuple[Tally | None, Tally | None]]:
        """criterion -> (first test, by the end); not tested and with help count neither way."""
        if self.results is not None:
            return {r.criterion: (r.first, r.end) for r in self.results}
        names = sorted({c for row in self.grid or () for c in (*row.first, *row.end)})
        return {c: (_count(self.grid, c, "first"), _count(self.grid, c, "end")) for c in names}

    @property
    def teaches(self) -> bool:
        return not self.flags


def _count(grid: list[GridRow] | None, criterion: str, when: str) -> Tally | None:
    marks = [getattr(row, when).get(criterion, "not_tested") for row in grid or ()]
    met, not_met = marks.count("yes"), marks.count("no")
    return Tally(met=met, of=met + not_met) if met + not_met else None
