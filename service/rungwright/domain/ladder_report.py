"""What is worked out about a ladder. No field has a default, so that a generated client sees every field as present."""

from datetime import date
from typing import Literal

from pydantic import Field

from rungwright.domain.ladder import Agreement, Ladder
from rungwright.domain.recommendation import Basis, CheckResult, Reason, RuleRef, Standard
from rungwright.domain.strict import Setting, Strict


class SaidSetting(Strict):
    lever: str
    label: str
    value: Setting
    text: str


class RungChange(Strict):
    """One lever moved on the way up from the rung below."""

    lever: str
    label: str
    from_: Setting = Field(alias="from")
    to: Setting
    from_text: str
    to_text: str
    text: str = Field(description="two spots instead of one spot")
    asks: str = Field(description="what students must now do or reason; empty where the step is back")
    standard: Standard | None
    reason: Reason
    basis: list[Basis]
    rule: RuleRef | None = Field(description="the rule that proposes this change here; none: the lever's own words")
    demand: float = Field(description="change of demand by itself [logit], positive is harder")


class NewDemand(Strict):
    """The one thing that students must now do or reason."""

    lever: str | None = Field(description="the change that adds most; none on the first rung")
    text: str
    standard: Standard | None


class Suits(Strict):
    grades: list[str] = Field(description="grades whose usual class this rung fits best of all rungs")
    text: str


class BrokenLimit(Strict):
    rule: str
    text: str


class RungReport(Strict):
    id: str
    number: int
    name: str
    grades: list[str]
    settings: list[SaidSetting]
    demand: float = Field(
        description="readiness at which .80 of groups would meet everything [logit], on the ladder's scale"
    )
    step: float | None = Field(description="demand above the rung below; none on the first")
    new_demand: NewDemand
    changes: list[RungChange]
    suits: Suits
    checks: list[CheckResult]
    limits: list[BrokenLimit]
    pinned: list[str]
    agreed: Agreement | None
    basis: list[Basis] = Field(description="what was agreed here about the rung")


class LadderProblem(Strict):
    """Something to mend. What `must` be mended keeps a ladder from being published; the rest is worth a look."""

    kind: Literal["order", "limit", "check", "name", "step", "changes", "demand_falls"]
    rung: str
    must: bool
    text: str


class LadderReport(Strict):
    challenge: str
    standing: str = Field(description="draft, or which version was published when")
    sound: bool = Field(description="nothing must be mended")
    scale: str
    same: list[SaidSetting]
    locked: str
    first_run: str | None
    rungs: list[RungReport]
    problems: list[LadderProblem]


class LadderAnswer(Strict):
    """The document and what was worked out about it."""

    ladder: Ladder
    report: LadderReport
    notes: list[str]


class ChangedField(Strict):
    """Something that differs between two ladders. `at` is a JSON pointer with rung ids for places."""

    at: str
    first: Setting | None
    second: Setting | None
    text: str


class LadderComparison(Strict):
    same_everywhere: bool = Field(description="whether results on the two can be compared: all locked levers agree")
    changes: list[ChangedField]
    demand_first: dict[str, float]
    demand_second: dict[str, float] = Field(description="on the scale of the first")


class MergeConflict(Strict):
    """Both changed the same thing in different ways. The merged ladder holds the first's; choose and edit."""

    at: str
    label: str = Field(description="what it is, in words")
    base: str
    first: str
    second: str
    text: str


class LadderMerge(Strict):
    ladder: Ladder
    conflicts: list[MergeConflict]
    taken_from_first: list[str]
    taken_from_second: list[str]
    report: LadderReport


class RungOutlook(Strict):
    """What a section can expect on one rung."""

    rung: str
    name: str
    groups: float
    groups_likely: tuple[int, int]
    text: str
    failing: list[str] = Field(description="checks that fail for this section")


class RungMove(Strict):
    """One rung up or down, as a recommendation."""

    rung: str
    name: str
    direction: Literal["up", "down"]
    changes: list[RungChange]
    outlook: RungOutlook
    checks: list[CheckResult]
    text: str
    settings: dict[str, Setting] = Field(description="to ask for this section's lesson on that rung")


class SectionPlace(Strict):
    section: str
    grades: list[str]
    rung: str
    name: str
    reason: str
    evidence: str
    now_on: str | None
    outlooks: list[RungOutlook]
    up: RungMove | None
    down: RungMove | None
    notes: list[str]


class PooledCriterion(Strict):
    criterion: str
    met: int
    of: int


class RungResults(Strict):
    """Results of a rung pooled over sections, never by teacher; nothing is shown under three sections."""

    rung: str
    name: str
    sections: int
    shown: bool
    criteria: list[PooledCriterion]
    text: str


class GradeSpread(Strict):
    """Sections of one grade that do different rungs, so that it is a choice."""

    grade: str
    rungs: list[str]
    text: str


class BuyLine(Strict):
    role: str
    label: str
    measure: str
    need: float = Field(description="what is used up, for all sections; what goes back, for the one that needs most")
    there: float | None = Field(description="in the cupboard, a tenth kept back; none: it was not told")
    buy: float
    text: str


class StationWeek(Strict):
    """Station kit of one week: what the section that needs most of each needs at once."""

    week: date
    sections: list[str]
    things: list[str]
    text: str


class SchoolKit(Strict):
    buy: list[BuyLine]
    weeks: list[StationWeek]
    notes: list[str]


class LadderPlacement(Strict):
    ladder: str
    sections: list[SectionPlace]
    results: list[RungResults]
    spread: list[GradeSpread]
    kit: SchoolKit
