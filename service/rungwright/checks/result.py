"""What a check answers: a value with its range, a verdict, the inputs used, sources, and a sentence for a teacher."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field

from rungwright.checks.quantities import Dimension, figures, shown_range
from rungwright.domain.build import Build
from rungwright.domain.recommendation import Verdict
from rungwright.domain.strict import Id, Strict
from rungwright.measure.quantiles import low_mid_high
from rungwright.measure.verdicts import VERDICTS, verdict_of

Status = Literal["found", "second_hand", "from_memory", "derived", "starting_guess", "common_practice"]


class InputError(ValueError):
    """Inputs that are each fine but not together; `field` is the one to change."""

    def __init__(self, field: str, message: str):
        super().__init__(message)
        self.field = field


class Amount(Strict):
    """A number with the range it may lie in, given the ranges of the inputs (5 % to 95 % where they are spread)."""

    name: Id
    label: str
    value: float
    low: float
    high: float
    unit: str = Field(description="of the three numbers; empty where they have none")
    text: str = Field(description="the range as a teacher reads it, metric with US beside it")
    value_text: str = Field(description="the value alone, in the same words")


class UsedInput(Strict):
    """An input as it was used."""

    name: Id
    label: str
    text: str
    given: bool = Field(description="false where the usual value was taken")


class CheckSource(Strict):
    """What a number or formula stands on."""

    number: int = Field(ge=1)
    id: Id = Field(description="of /v1/sources")
    supports: str
    status: Status


class FormOption(Strict):
    """A reference form of stated dimensions: whether it can do it, what it takes, and what fails first."""

    id: Id
    label: str
    verdict: Verdict = Field(description="by strength alone; whether the kit makes it stands in `lacks`")
    bears: Amount
    fails_first: str
    how: str = Field(description="how it is made, with the sizes that its strength is worked out for")
    sticks: int
    sheets: int
    straws: int
    tape_cm: float
    glue: bool = Field(description="joined with white glue that dries overnight")
    soft_only: bool = Field(description="made of paper and tape alone")
    lacks: list[str] = Field(description="what the kit or the form does not have; empty where it can be done")
    build: Build | None = Field(description="of a refuge: its sizes, figures and spots, for a drawing")


class Checked(Strict):
    """The answer of one check."""

    kind: Id
    verdict: Verdict | None = Field(description="null where nothing was asked that can hold or fail")
    text: str = Field(description="one or two sentences for a teacher")
    value: Amount = Field(description="the number that the verdict rests on")
    amounts: list[Amount] = Field(description="the other numbers, in the order in which they are worked out")
    inputs: list[UsedInput]
    forms: list[FormOption] = Field(description="forms that could do it, the surest that the kit makes first")
    forms_left: int = Field(description="reference forms that are not listed; the input `every_form` lists them")
    mend: list[str] = Field(description="what would help; empty where it is clear")
    care: list[str] = Field(description="cautions; the school's own safety rules come first")
    not_covered: list[str] = Field(description="what this check does not look at")
    sources: list[CheckSource]


class Use(Strict):
    """Where a measured value goes."""

    check: Id
    input: Id
    value: str = Field(description="as that check reads it")


class Calibrated(Strict):
    """The answer of one calibration: a value measured in the classroom, to be used in place of the usual one."""

    kind: Id
    text: str
    value: Amount
    amounts: list[Amount]
    inputs: list[UsedInput]
    use: list[Use]
    keep: dict[Id, list[float] | float] = Field(
        description="for `measured` of a section, so that its recommendations are worked out with it"
    )
    not_covered: list[str]
    sources: list[CheckSource]


class Outcome(Strict):
    """What a check's own function gives; the inputs used are added where it is called."""

    verdict: Verdict | None = None
    text: str
    value: Amount
    amounts: list[Amount] = []
    forms: list[FormOption] = []
    forms_left: int = 0
    mend: list[str] = []
    care: list[str] = []
    not_covered: list[str] = []
    use: list[Use] = []
    keep: dict[Id, list[float] | float] = {}
    sources: list[tuple[str, str, Status]]


def amount(name: str, label: str, values: object, of: Dimension | str, units: str = "both") -> Amount:
    """From one number, (low, mid, high), or many: the median between the 5 % and 95 % points.

    `of` is a dimension, or the word printed after a number that has none.
    """
    at = np.asarray(values, float)
    if at.ndim == 0:
        low = mid = high = float(at)
    elif at.shape == (3,):
        low, mid, high = sorted(map(float, at))
    else:
        low, mid, high = map(float, low_mid_high(at))
    # A wide range is no place for a third figure.
    digits = 2 if high - low > 0.1 * max(abs(low), abs(high)) else 3
    if isinstance(of, Dimension):
        unit, text = of.unit, shown_range(low, high, of, units, digits=digits)
        value_text = shown_range(mid, mid, of, units)
    else:
        first, last = figures(low, digits), figures(high, digits)
        unit, text = of, " ".join(filter(None, (first if first == last else f"{first} to {last}", of)))
        value_text = " ".join(filter(None, (figures(mid), of)))
    return Amount(name=name, label=label, value=mid, low=low, high=high, unit=unit, text=text, value_text=value_text)


def verdict_for(margin: Amount) -> Verdict:
    """Clear where the low end of a margin is 1 or more, not feasible where its high end is under 1."""
    return VERDICTS[int(verdict_of(np.float64(margin.low), np.float64(margin.high)))]
