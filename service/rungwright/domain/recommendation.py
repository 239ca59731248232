"""The answer: what was found, what is proposed and why, what it does, what was checked.

No field has a default in the contract, so that a generated client sees every field as present.
"""

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field

from rungwright.domain.build import Build
from rungwright.domain.strict import Setting, Strict


class Verdict(StrEnum):
    CLEAR = "clear"
    UNCERTAIN = "uncertain"
    NOT_FEASIBLE = "not_feasible"

    @property
    def said(self) -> str:
        return self.value.replace("_", " ")


class Share(Strict):
    share: float = Field(ge=0, le=1, description="expected share of groups")
    low: float = Field(ge=0, le=1, description="10th percentile of the true share")
    high: float = Field(ge=0, le=1, description="90th percentile of the true share")


class AllCriteria(Share):
    groups: float = Field(description="expected number of groups")
    groups_likely: tuple[int, int] = Field(description="central 80 % of counts")


class CriterionExpected(Strict):
    first: Share
    end: Share


class ExpectedOutcome(Strict):
    all_criteria: AllCriteria
    first_test_all: float = Field(description="share of groups expected to meet every criterion at the first test")
    criteria: dict[str, CriterionExpected]


class Evidence(Strict):
    """One fact that a text quotes or a rule tested."""

    fact: str
    property: str
    about: str | None
    value: Setting | None
    unit: str | None
    meaning: str


class CheckResult(Strict):
    kind: str
    verdict: Verdict
    text: str
    numbers: dict[str, Setting | None]
    mend: list[str] = Field(description="what would help, practical first; empty where nothing is wrong")


class Adjusted(Strict):
    """A lever that was fitted to the section before anything was proposed."""

    lever: str
    label: str
    preset: Setting
    used: Setting
    text: str
    why: str
    rule: str | None


Drawn = Annotated[
    Build | None, Field(description="the form that these checks describe, with its sizes; null where there is none")
]


def _all_present(schema: dict[str, Any]) -> None:
    """Answers that were kept before the build was told are read all the same, and a new one always has it."""
    schema["required"] = list(schema["properties"])
    schema["properties"]["build"].pop("default", None)


class Before(Strict):
    model_config = ConfigDict(json_schema_extra=_all_present)

    settings: dict[str, Setting]
    adjusted: list[Adjusted]
    expected: ExpectedOutcome
    checks: list[CheckResult]
    build: Drawn = None


class After(Strict):
    model_config = ConfigDict(json_schema_extra=_all_present)

    settings: dict[str, Setting]
    expected: ExpectedOutcome
    checks: list[CheckResult]
    build: Drawn = None


class Reason(Strict):
    text: str
    evidence: list[Evidence]


class Basis(Strict):
    source: str
    label: str
    locator: str | None
    kind: str
    supports: str


class RuleRef(Strict):
    id: str
    version: str


class Effect(Strict):
    demand: float = Field(description="change of demand, positive is harder")
    share_before: float
    share_after: float
    groups: float = Field(description="change of the expected number of groups")
    text: str
    minutes: float = Field(description="change of the lesson's minutes")
    preparation_minutes: float
    kit: list[str]


class DeclineReason(Strict):
    code: str
    text: str


class Proposal(Strict):
    id: str
    lever: str
    label: str
    kind: str
    from_: Setting = Field(alias="from")
    to: Setting
    from_text: str
    to_text: str
    unit: str | None
    direction: str
    reason: Reason
    basis: list[Basis]
    rule: RuleRef
    also: list[str] = Field(description="other rules that proposed the same")
    effect: Effect
    needs: list[str] = Field(description="what to get first")
    decline_reasons: list[DeclineReason]


class Change(Strict):
    lever: str
    from_: Setting = Field(alias="from")
    to: Setting
    text: str


class Alternative(Strict):
    changes: list[Change]
    share: float
    groups: float
    text: str


class HeldBack(Strict):
    lever: str
    label: str
    to: Setting | None
    kind: str = Field(description="limit, check, wrong_way, too_far, pinned or declined")
    rule: str | None
    text: str


class Prompt(Strict):
    about: str = Field(description="a criterion, or the moment: plan, stuck, finished_early")
    label: str = Field(description="`about` as a heading")
    audience: Literal["groups", "teacher"]
    questions: list[str]
    reason: Reason
    rule: RuleRef


class Caution(Strict):
    text: str
    reason: Reason
    basis: list[Basis]
    rule: RuleRef


class Standard(Strict):
    code: str
    text: str
    caution: str | None = Field(description="what the lesson must hold besides, for the standard to be served")


class Phase(Strict):
    phase: str
    label: str
    lesson: int
    start: float
    minutes: float


class StationVisit(Strict):
    test: str
    label: str
    copies: int
    visit_minutes: float
    queue_minutes: float


class StationCall(Strict):
    """One visit of one group in the first round."""

    group: int = Field(description="counts from 1")
    test: str
    copy_: int = Field(alias="copy", description="which of the stations side by side, from 1")
    start: float = Field(description="minutes from the first call")
    minutes: float


class FairFinish(Strict):
    """The same tests for every group when time runs short."""

    tests: list[str]
    labels: list[str]
    minutes: float = Field(description="until every group has been through them")


class Timetable(Strict):
    manner: str
    order: list[str]
    lessons: list[int] = Field(description="minutes of each lesson in use")
    phases: list[Phase]
    stations: list[StationVisit]
    calls: list[StationCall] = Field(description="who goes where when; empty where groups are not called to stations")
    least_minutes: float = Field(description="no order of calling could end the first round sooner than this")
    fair_finishes: list[FairFinish] = Field(description="most tests first, for a lesson that runs late")
    late: str = Field(description="the same in one line")
    minutes_available: float
    minutes_needed: float


class KitShare(Strict):
    """So many groups can have all of a kit line in one material."""

    material: str
    label: str
    groups: int


class KitItem(Strict):
    lever: str | None
    role: str
    material: str | None
    also: list[str] = Field(description="materials that make up the rest, in order of use")
    instead_of: list[str] = Field(description="materials with the same role, those of the cupboard first")
    shares: list[KitShare] = Field(description="which groups get which material; empty where one is enough for all")
    label: str
    per_group: float
    for_class: float
    unit: str
    there: float | None
    short: float
    instead: list[str]


class StationThings(Strict):
    test: str
    label: str
    things: list[str] = Field(description="tools and materials of the catalogue, one set for each station")


class FigureSet(Strict):
    """The figures that stand for the users of the build, to be cut out of card."""

    height_mm: float
    width_mm: float
    base_mm: float | None = Field(description="depth of the folded foot; none where standing is the groups' own task")
    tips_at_deg: float | None = Field(description="angle at which a figure on that foot tips over")
    standing: str = Field(description="lying, base_given, prompted or own_solution")
    each_group: int
    sets: int = Field(description="sets for each group; two where a test wets them")
    scale: float = Field(description="a person of `age_years` is this many times taller")
    age_years: float


class Price(Strict):
    lever: str
    label: str
    amount: float = Field(description="what is sold at once, in the unit of the kit line")
    unit: str
    price: int


class PriceList(Strict):
    """Play money: what a group may spend, which is less than its whole kit costs."""

    budget: int
    prices: list[Price]


class Kit(Strict):
    items: list[KitItem]
    price_list: PriceList | None = Field(description="where materials are priced")
    stations: list[StationThings]
    figures: FigureSet | None = Field(description="none where the challenge shelters nobody")
    preparation: list[str]
    preparation_minutes: float


class BriefLine(Strict):
    criterion: str
    must: str
    counts_as_yes: str


class Brief(Strict):
    title: str
    need: str
    criteria: list[BriefLine]
    constraints: list[str]
    kit: list[str]
    minutes: list[str]
    testing: list[str]
    questions: list[str]
    safety: list[str]


class Considered(Strict):
    rule: str
    title: str
    stage: str
    fired: bool
    text: str


class Explanation(Strict):
    considered: list[Considered]
    difficulty: dict[str, dict[str, float]]
    demand_before: float
    demand_after: float
    target: str
    weights: str = Field(description="which weights were used, and how much of them was learned from own runs")
    candidates: list[dict[str, Setting | None]]


class RuleBaseRef(Strict):
    version: str
    digest: str
    engine: str


class ModelRef(Strict):
    weights_version: str
    digest: str


class ChallengeRef(Strict):
    id: str
    family: str
    label: str


class SectionSummary(Strict):
    label: str
    grades: list[str]
    band: str
    students: int
    groups: int
    group_sizes: list[int]
    minutes: int
    lessons: int
    evidence: str


class Summary(Strict):
    headline: str
    standing: str
    first_test: str
    evidence: str


class Recommendation(Strict):
    id: str
    created_at: datetime
    rule_base: RuleBaseRef
    model: ModelRef
    challenge: ChallengeRef
    section: SectionSummary
    asked: str
    resolved_direction: str
    reached: bool = Field(description="whether the target was reached")
    summary: Summary
    assumptions: list[str]
    before: Before
    after: After
    proposals: list[Proposal]
    alternatives: list[Alternative]
    held_back: list[HeldBack]
    prompts: list[Prompt]
    cautions: list[Caution]
    standards: list[Standard]
    timetable: Timetable | None
    kit: Kit | None
    brief: Brief | None
    explanation: Explanation | None
    not_evaluated: list[str]
