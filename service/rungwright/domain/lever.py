"""A lever: an adjustable part of a challenge, read from `rules/levers/`."""

from collections.abc import Sequence
from enum import StrEnum
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from rungwright.domain.strict import Id, Lax, Setting, Strict

Quantity = Literal["count", "mass_g", "length_cm", "length_mm", "area_cm2", "minutes", "seconds"]


class LeverKind(StrEnum):
    CHALLENGE = "challenge"
    """pitches the challenge and carries the asked sign"""
    PRACTICAL = "practical"
    """makes it work; changes no expected share by itself"""
    ACCESS = "access"
    """applies before and after alike, always on, never counted as easier"""


class Term(Strict):
    """How one lever adds to the difficulty of some criteria: a starting weight.

    `at` has one value a setting, in logits, and grows toward harder; numbers between two settings are interpolated.
    """

    criteria: list[Id] = Field(min_length=1, description="criteria, or the one word `all`")
    at: list[float] = Field(min_length=2)
    spread: float = Field(gt=0, le=1, description="standard deviation of a step as a part of the step itself")
    source: Id
    why: str = Field(min_length=1)


class Lever(Strict):
    """`settings` run from gentlest to hardest; practical and access levers list them in their natural order."""

    id: Id
    label: str = Field(min_length=1, description="what it is, as a teacher would say it")
    type: Literal["number", "word", "yes_no"]
    kind: Literal["challenge", "practical", "access"]
    meaning: str = Field(min_length=1)
    settings: list[Setting] = Field(min_length=2)
    monotone: bool = Field(description="a gentler setting never lowers the share of groups that meet every criterion")
    quantity: Quantity | None = None
    one: str | None = Field(default=None, description="the counted noun, one of it")
    many: str | None = Field(default=None, description="the counted noun, several of it")
    words: dict[str, str] | None = Field(default=None, description="how each word or yes/no setting is said")
    touches: list[Id] = Field(description="criteria whose difficulty it moves, by weight or through a margin")
    difficulty: list[Term] = []
    lesson_minutes: dict[str, float] | None = Field(
        default=None, description="minutes of planning time that a setting takes from the lesson"
    )
    preparation_minutes: dict[str, float] | None = Field(
        default=None, description="minutes of preparation that a setting costs the teacher, for the whole section"
    )
    grades: Annotated[tuple[int, int] | None, Lax] = Field(
        default=None, description="lowest and highest grade it is offered to"
    )

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        kinds = {"number": (int, float), "word": (str,), "yes_no": (bool,)}[self.type]
        for setting in self.settings:
            if not isinstance(setting, kinds) or (self.type == "number" and isinstance(setting, bool)):
                raise ValueError(f"setting {setting!r} is not of type {self.type}")
        if len(set(self.settings)) != len(self.settings):
            raise ValueError("a setting stands twice")
        if self.type == "number":
            steps = [b - a for a, b in zip(self.settings, self.settings[1:], strict=False)]
            if not (all(s > 0 for s in steps) or all(s < 0 for s in steps)):
                raise ValueError("number settings must rise or fall throughout")
            if self.quantity is None or (self.quantity == "count" and not (self.one and self.many)):
                raise ValueError("a number lever needs `quantity`, and `one` and `many` where it counts something")
        elif set(self.words or ()) != {setting_key(s) for s in self.settings}:
            raise ValueError("`words` must say every setting and nothing else")
        for term in self.difficulty:
            if len(term.at) != len(self.settings):
                raise ValueError(f"a weight lists {len(term.at)} values for {len(self.settings)} settings")
            if self.kind == LeverKind.PRACTICAL:
                raise ValueError("a practical lever changes no share: it carries no weight")
            if self.monotone and any(b < a for a, b in zip(term.at, term.at[1:], strict=False)):
                raise ValueError("a monotone lever's weights never fall toward harder")
        return self

    def __hash__(self) -> int:
        return hash(self.id)

    @cached_property
    def places(self) -> dict[Setting, int]:
        """setting -> its place among the settings, 0 gentlest"""
        return {setting: i for i, setting in enumerate(self.settings)}

    @cached_property
    def minutes(self) -> dict[str, tuple[float, ...]]:
        """`lesson_minutes` and `preparation_minutes`, where there are any: one number a setting, in their order"""
        tables = {"lesson_minutes": self.lesson_minutes, "preparation_minutes": self.preparation_minutes}
        return {name: tuple(t[setting_key(s)] for s in self.settings) for name, t in tables.items() if t}

    @cached_property
    def bounds(self) -> tuple[float, float]:
        """Lowest and highest number allowed (number levers only)."""
        return min(self.settings), max(self.settings)

    def accepts(self, value: object) -> bool:
        """Whether a value lies in the domain; numbers between two settings do."""
        if self.type == "number":
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                return False
            low, high = self.bounds
            return low <= value <= high
        return any(value is s if isinstance(s, bool) else value == s for s in self.settings)

    def position(self, value: Setting) -> float:
        """Where a value stands along the settings: 0 gentlest, len - 1 hardest, fractions between."""
        place = self.places.get(value)
        if place is not None:
            return float(place)
        for i, (a, b) in enumerate(zip(self.settings, self.settings[1:], strict=False)):
            if self.type == "number" and min(a, b) <= value <= max(a, b):
                return i + (value - a) / (b - a)
        raise ValueError(f"{value!r} lies outside {self.id}")

    def between(self, table: Sequence[float], value: Setting) -> float:
        """A table with one value a setting, read at a setting; between two settings it is interpolated."""
        place = self.position(value)
        left = int(place)
        return table[left] if left == place else table[left] + (place - left) * (table[left + 1] - table[left])

    def steps_from(self, value: Setting, sign: int) -> list[Setting]:
        """The settings beyond a value, nearest first: sign +1 toward harder, -1 toward gentler."""
        here = self.position(value)
        if sign > 0:
            return [s for i, s in enumerate(self.settings) if i > here]
        return [s for i, s in reversed(list(enumerate(self.settings))) if i < here]


def setting_key(value: Setting) -> str:
    """A setting as a key of a mapping in the data: yes and no for booleans."""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def tidy(value: Setting) -> Setting:
    """Integral numbers are integers."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
