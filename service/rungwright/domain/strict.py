"""The base of every model: unknown fields are refused, types are strict, values never change once read."""

from datetime import date
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
"""An identifier of the catalogue: small letters, digits, underscores."""

Setting = int | float | str | bool
"""The value of a lever: number, word or yes/no by the lever's type; integral numbers are integers."""

Lax = Field(strict=False)
"""For closed sets of words and fixed-length lists: the wire carries strings and lists, strict mode wants members."""


def _iso(value: object) -> object:
    return date.fromisoformat(value) if isinstance(value, str) else value


Day = Annotated[date, BeforeValidator(_iso)]
"""A day, on the wire as in ISO 8601: strict mode alone would want a date."""
