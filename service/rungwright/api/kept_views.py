"""What the routes of kept things answer."""

from __future__ import annotations

from datetime import date, datetime

from pydantic import Field

from rungwright.api.views import View
from rungwright.domain.keeping import Choice, LessonState
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_report import LadderMerge, LadderPlacement
from rungwright.domain.ladder_request import Met
from rungwright.domain.run import Run
from rungwright.domain.section import Section, Stock
from rungwright.domain.strict import Setting
from rungwright.store.rosters import Fate


class Edited(View):
    """`version` rises with each change; its `ETag` is the version in quotes."""

    id: str
    version: int
    created_at: datetime
    updated_at: datetime


class KeptSection(Edited):
    """A section. `supports` are there for its owner alone, `materials` where it has no cupboard."""

    archived: bool
    mine: bool = Field(description="whether the caller owns it")
    cupboard_id: str | None
    follows_id: str | None = Field(description="the same students a year before")
    section: Section


class HeldMaterial(View):
    """One material, in its catalogue unit."""

    material: str
    quantity: float
    kept_back: float = Field(description="a tenth, for spills and repairs")
    reserved: float = Field(description="for lessons that are planned; of what is used again, the busiest day counts")
    free: float


class KeptCupboard(Edited):
    archived: bool
    label: str
    materials: list[HeldMaterial]


class KeptRun(Edited):
    section_id: str
    withdrawn: bool
    run: Run
    settings: dict[str, Setting] = Field(description="all of that day: those not told, as they were worked out then")


class PastRun(View):
    """A run as it stood before a correction."""

    version: int
    replaced_at: datetime
    withdrawn: bool
    run: Run


class KeptLesson(Edited):
    section_id: str
    cupboard_id: str
    recommendation_id: str | None
    on: date
    state: LessonState
    materials: list[Stock]


class KeptLadder(Edited):
    """A ladder as it is now. `version` counts its changes; `ladder.version` the versions that were published."""

    archived: bool
    ladder: Ladder


class MergedLadder(KeptLadder):
    """Somebody's edit put together with what was kept. Not saved, `merge.conflicts` say what to choose first."""

    saved: bool
    merge: LadderMerge = Field(description="`first` is what was kept, `second` what was sent")


class PastLadder(View):
    """A ladder as it stood before a change."""

    version: int
    replaced_at: datetime
    ladder: Ladder


class RungPlace(View):
    """Where a section stands on a ladder."""

    section_id: str
    label: str
    now_on: str | None
    week: date | None
    met: Met | None = Field(description="an earlier year, as it was told or as the section's own runs tell")
    version: int = Field(description="another wherever else it stands; as `If-Match` wants it to put it elsewhere")


class LadderSections(View):
    """Sections of a ladder's grades on its rungs. `sections` are in the order of `placement.sections`."""

    sections: list[RungPlace]
    placement: LadderPlacement | None = Field(description="null where there is no section of these grades")
    left_out: int = Field(description="sections of these grades beyond those that are placed at once")


class RosterClassView(View):
    """One class of a roster and the section of it; null for one that a dry run would make."""

    line: int
    label: str
    grades: list[str]
    students: int
    fate: Fate
    section_id: str | None


class RosterSkipped(View):
    file: str
    line: int
    why: str


class RosterReport(View):
    """What was read of a roster, what became of it, and what was skipped and why."""

    dry_run: bool
    rows: dict[str, int] = Field(description="rows read, by file")
    classes: list[RosterClassView]
    skipped: list[RosterSkipped] = Field(description="rows that cannot be used, the first 200")
    passed_over: dict[str, int] = Field(description="rows that are not of students in class, by reason")


class KeptAnswer(View):
    """One line of the list of kept answers."""

    id: str
    created_at: datetime
    section_id: str | None
    challenge: str
    section: str
    asked: str
    headline: str
    proposals: int


class KeptDecision(View):
    id: str
    decided_at: datetime
    proposal: str
    lever: str
    rule: str
    choice: Choice
    value: Setting | None
    reason: str | None
    note: str | None


class RuleDecided(View):
    """What was decided about the proposals of one rule, pooled over all sections; `reasons` by code."""

    rule: str
    title: str
    kept: int
    changed: int
    declined: int
    reasons: dict[str, int]
