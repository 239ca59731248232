"""Words of the printed sheets, by language and band, and what the sheets of a challenge say where."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from rungwright.domain.challenge import BandName
from rungwright.domain.grades import Band
from rungwright.domain.strict import Id, Strict

RULES_LANGUAGE = "en"
"""The language of the rules themselves: their questions need no second copy in its words."""


def _for_all_bands(value: Any) -> Any:
    """One text is the text of every band."""
    return {Band.K_2: value} if isinstance(value, str) else value


def _counted(value: Any) -> Any:
    return [value, value] if isinstance(value, str) else value


Text = Annotated[dict[BandName, str | None], BeforeValidator(_for_all_bands), Field(min_length=1)]
"""A text by band. A band without one takes that of the next band below, so K-2 always has one, be it null."""

TextList = dict[BandName, list[str]]
Noun = Annotated[list[str], BeforeValidator(_counted), Field(min_length=2, max_length=2)]
"""One and several of it; one word for what is not counted."""


def by_band(texts: Mapping[Band, Any], band: Band) -> Any:
    """What a band is told; None where there is nothing to say."""
    bands = list(Band)
    for below in reversed(bands[: bands.index(band) + 1]):
        if below in texts:
            return texts[below]
    return None


class Said(Strict):
    """A lever that is said on a sheet; with `where`, only where that other lever is not 0."""

    lever: Id
    where: Id | None = None


class CriterionLayout(Strict):
    picture: Id
    levers: list[Id]
    station: list[Id] | None = Field(
        default=None, description="those of them that the station card says; all if left out"
    )

    @property
    def at_station(self) -> list[str]:
        return self.levers if self.station is None else self.station


class Layout(Strict):
    """What the sheets of one challenge say where."""

    id: Id
    criteria: dict[Id, CriterionLayout]
    work: list[Said]
    testing: list[Said]

    @property
    def levers(self) -> list[str]:
        """Every lever that needs words."""
        said = [lever for c in self.criteria.values() for lever in c.levers]
        return [*said, *(s.lever for s in (*self.work, *self.testing))]


class PropertyPlace(Strict):
    """Where a property of materials matters."""

    roles: list[Id]
    criteria: list[Id]


class Story(Strict):
    """The need, and who is sheltered; the second story is there where the first may hurt."""

    figure: str
    figures: str
    need: Text


class CriterionWords(Strict):
    name: Text
    must: Text
    yes: Text
    talk: Text = Field(description="the question for the talk about results")


class TestWords(Strict):
    name: Text
    steps: TextList
    by: dict[Id, TextList] = Field(default={}, description="steps where this tool makes the test, not the usual one")
    say: Text


class RungWords(Strict):
    """What a rung is called, and what it newly asks."""

    name: str = Field(min_length=1, max_length=60)
    text: str = Field(min_length=1)


class ChallengeWords(Strict):
    id: Id
    title: Text
    stories: list[Story] = Field(min_length=1)
    kit: dict[Id, Noun] = Field(description="what a kit line is called where no material is chosen for it")
    criteria: dict[Id, CriterionWords]
    tests: dict[Id, TestWords]
    levers: dict[Id, dict[str, Text | None]] = Field(
        description="by setting; a number lever says `one` and `many` (or `none`)"
    )
    first_rung: RungWords | None = Field(default=None, description="of the plan for ladders, as `rungs`")
    rungs: dict[Id, dict[str, RungWords]] = Field(default={}, description="lever and setting -> what the plan asks")


class Labels(Strict):
    """Headings and standing lines of the sheets."""

    group: Text
    date: Text
    need: Text
    must: Text
    counts: Text
    kit: Text
    work: Text
    time: Text
    plan: Text
    build: Text
    improve: Text
    testing: Text
    order: Text
    one_test: Text
    while_building: Text
    not_tested: Text
    write_down: Text
    record_line: Text
    record_once: Text
    record_changes: Text
    questions: Text
    prices: Text
    budget: Text
    you_buy: Text
    price: Text
    safety: Text
    rules_first: Text
    read_aloud: Text
    record: Text
    test: Text
    guess: Text
    first_test: Text
    last_test: Text
    test_once: Text
    yes: Text
    no: Text
    not_done: Text
    of: Text
    changed: Text
    draw: Text
    tally: Text
    tally_line: Text
    tally_once: Text
    all_met: Text
    count: Text
    talk: Text
    talk_line: Text
    talk_all: Text
    talk_once: Text
    properties: Text
    material: Text
    property: Text
    try_it: Text
    helped: Text
    found: Text
    station: Text
    needs: Text
    steps: Text
    settings: Text
    say: Text
    unsure: Text
    slip: Text
    broken: Text
    figures: Text
    print_true: Text
    check_bar: Text
    copies: Text
    copies_one: Text
    two_sets: Text
    fold: Text
    no_base: Text
    lying: Text
    scale: Text
    ask: Text
    ask_line: Text
    calls: Text
    calls_line: Text
    calls_ready: Text
    calls_wait: Text
    calls_again: Text
    calls_waited: Text
    minute: Text


class UnitWords(Strict):
    minutes: Noun
    seconds: Noun
    strokes: Noun
    sheets: Noun
    amount: str
    sized: str
    inch: str
    ounce: str


class Joined(Strict):
    comma: str
    last: str
    either: str


class PropertyWords(Strict):
    name: Text
    test: Text


class LetterWords(Strict):
    """The letter that asks families for things."""

    title: str
    greeting: str
    what: str
    when: str
    day: str = Field(description="how a date is written: {weekday}, {day}, {month}, {year}")
    weekdays: list[str] = Field(min_length=7, max_length=7, description="Monday first")
    months: list[str] = Field(min_length=12, max_length=12)
    when_open: str
    things: str
    amount: str
    or_: str = Field(alias="or")
    card: str
    only_spare: str
    clean: str
    never: str
    enough: str
    thanks: str


class LadderWords(Strict):
    """The wall chart of a ladder."""

    rung: str
    asks: str = Field(description="heading over what each rung newly asks")
    now: str = Field(description="name of the rung that a section stands on, in a ladder around it")
    steps: str = Field(description="what the picture shows: {rungs}")
    draft: str
    draft_after: str = Field(description="{version}")
    published: str = Field(description="{version}, {on}, {by}")


class CommonWords(Strict):
    name: str = Field(description="the language, in itself")
    labels: Labels
    units: UnitWords
    joined: Joined
    safety: dict[str, Text] = Field(description="rule of a caution -> what it asks of a student")
    properties: dict[Id, PropertyWords]
    materials: dict[Id, Noun]
    tools: dict[Id, str]
    letter: LetterWords
    ladder: LadderWords
    moments: dict[str, Text] = Field(description="what a prompt is about, where that is no criterion -> its heading")
    questions: dict[str, list[str]] = Field(default={}, description="rule of a prompt -> its questions, in its order")


@dataclass(frozen=True)
class Words:
    """All words of one language."""

    language: str
    common: CommonWords
    challenges: Mapping[str, ChallengeWords]
