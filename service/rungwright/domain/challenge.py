"""A challenge: the task, what a build must do, how it is tested, and its settings by band."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.grades import Band
from rungwright.domain.lever import Lever
from rungwright.domain.strict import Id, Lax, Setting, Strict

BandName = Annotated[Band, Lax]
Family = Literal["shelter", "span", "tower", "raft", "carrier", "keep_warm"]


class SecondTry(Strict):
    """How a group that missed a criterion tries again."""

    when: Literal["same_day", "next_day"] = Field(description="when a build that failed it can try again")
    gain: float = Field(
        ge=-2,
        le=2,
        description="what the second try adds to the chance of those that missed it [logit]; 0: as the first",
    )
    source: Id
    why: str = Field(min_length=1)


class Criterion(Strict):
    """One thing a build must do, with its operational definition."""

    id: Id
    label: str = Field(description="a noun phrase: standing up to the wind")
    met: str = Field(description="past tense, after a count of groups: stood up to the wind")
    must: str = Field(description="what the build must do, one sentence for the groups")
    counts_as_yes: str
    close_call: str
    replacement: str
    not_tested: str
    first_share: float = Field(
        gt=0, lt=1, description="share at the first test, at the band's preset: zero of the scale"
    )
    keep_rate: float = Field(gt=0, le=1, description="chance that a criterion met once is met again when retested")
    second_try: SecondTry
    thinking: int = Field(ge=1, le=9, description="1 asks for most thinking: ties of surplus go this way")
    only_if: dict[Id, list[Setting]] | None = Field(
        default=None, description="part of the challenge only at these settings"
    )

    def asked_at(self, settings: Mapping[str, Setting]) -> bool:
        """Whether it is part of the challenge there; a setting that is not told is none of those it needs."""
        return all(settings.get(lever) in allowed for lever, allowed in (self.only_if or {}).items())


class Visit(Strict):
    """Minutes of one group at one test, change-over included."""

    fixed: float = Field(gt=0)
    each: dict[Id, float] = Field(default={}, description="minutes more for each unit of a number lever beyond none")


class Test(Strict):
    id: Id
    label: str
    criteria: list[Id] = Field(min_length=1)
    leaves: Literal["nothing", "wet", "may_break"]
    stations: Id | None = Field(default=None, description="the lever that counts its copies; none: while building")
    visit: Visit
    adult: Literal["always", "K-2", "no"] = Field(description="who needs an adult at it")
    made_with: list[Id] = Field(
        default=[], description="tools of which it takes one, the usual first, the simplest last"
    )


class KitLine(Strict):
    """A lever that sets how much of one role a group gets."""

    lever: Id
    role: Id
    label: str


class MarginTerm(Strict):
    """Difficulty from a physical margin M: height * ln(1 + (at / M) ** power), less the preset's own."""

    criterion: Id
    check: Literal["load", "wind"]
    height: float = Field(gt=0)
    at: float = Field(gt=0)
    power: float = Field(gt=0)
    spread: float = Field(gt=0, le=1)
    source: Id


class ReadinessPrior(Strict):
    """Spreads in logits; see `readiness`."""

    section_sd: float = Field(gt=0)
    criterion_sd: float = Field(gt=0)
    group_sd: float = Field(gt=0)
    growth_a_grade: float = Field(ge=0)
    group_size: dict[str, float] = Field(description="difficulty of all criteria by students a group")
    source: Id

    def apart(self, factor: float) -> Self:
        """The same where sections, criteria and groups differ by `factor` times as much."""
        spreads = ("section_sd", "criterion_sd", "group_sd")
        return self.model_copy(update={name: factor * getattr(self, name) for name in spreads})


class FixedMinutes(Strict):
    introduce: float = Field(ge=0)
    discuss: float = Field(ge=0)
    clear_up: dict[BandName, float]
    build_at_least: dict[BandName, float]


class Fitting(Strict):
    """A practical change to try, in file order, when minutes are short.

    `until` says how long it is worth its trouble: until the lesson fits at all, or until building has its usual time.
    """

    lever: Id
    until: Literal["it_fits", "usual_minutes"] = "it_fits"
    to: list[Setting] = Field(min_length=1)
    why: str


class Reduction(Strict):
    """What may be done about a check that fails, in file order. `gentler` and `harder` move the pitch too."""

    check: Literal["load", "wind", "rain", "room", "entry", "time", "kit", "adults"]
    lever: Id
    towards: Literal["gentler", "harder", "first", "last", "setting"]
    to: Setting | None = Field(default=None, description="the setting meant, where `towards` is `setting`")
    text: str

    @model_validator(mode="after")
    def _names_a_setting(self) -> Self:
        if (self.towards == "setting") != (self.to is not None):
            raise ValueError("`to` belongs to `towards: setting`, and only there")
        return self

    def applies(self, lever: Lever, value: Setting) -> bool:
        """Whether the lever can still move that way from a value."""
        return self.next_from(lever, value) is not None

    def next_from(self, lever: Lever, value: Setting) -> Setting | None:
        """The setting that it would be moved to from a value; None where it cannot."""
        if self.towards == "setting":
            return self.to if value != self.to else None
        return next(iter(lever.steps_from(value, -1 if self.towards in ("gentler", "first") else 1)), None)


class Challenge(Strict):
    id: Id
    family: Family
    label: str
    need: str
    second_story: str
    figure: str = Field(description="what the figures are called, one of them")
    figures: str = Field(description="what the figures are called, several of them")
    figure_height_mm: float = Field(gt=20, le=200)
    criteria: list[Criterion] = Field(min_length=2)
    tests: list[Test] = Field(min_length=1)
    order_paper: list[Id] = Field(description="order of the tests where paper carries the load and the cover is small")
    kit: list[KitLine]
    station_kit: dict[Id, list[Id]] = Field(description="test -> tools and things of the whole class it needs")
    margins: list[MarginTerm]
    readiness: ReadinessPrior
    minutes: FixedMinutes
    fitting: list[Fitting]
    mend: list[Reduction]
    standards: dict[BandName, list[Id]]
    presets: dict[BandName, dict[Id, Setting]]

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        names = [c.id for c in self.criteria]
        for test in self.tests:
            for c in test.criteria:
                if c not in names:
                    raise ValueError(f"test {test.id} names the unknown criterion {c}")
        if sorted(self.order_paper) != sorted(t.id for t in self.tests if t.leaves != "nothing"):
            raise ValueError("order_paper must name each test that leaves something, once")
        if set(self.presets) != set(Band):
            raise ValueError("every band needs a preset")
        return self

    def criterion(self, name: str) -> Criterion:
        return next(c for c in self.criteria if c.id == name)

    def mend_texts(self, check: str, levers: Mapping[str, Lever], settings: Mapping[str, Setting]) -> list[str]:
        """What would help a failing check at these settings, in file order; moves that are used up are left out.

        Of the levers that are given: those that cannot be moved any more need not be.
        """
        helping = (m for m in self.mend if m.check == check and m.lever in levers)
        return [m.text for m in helping if m.applies(levers[m.lever], settings[m.lever])]
