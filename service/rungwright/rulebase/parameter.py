"""Parameters: named numbers of a rule, put in where `$name` stands."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from rungwright.domain.strict import Lax, Strict

_PARAMETER = re.compile(r"\$([a-z][a-z0-9_]*)")


class Parameter(Strict):
    value: int | float
    unit: str
    range: Annotated[tuple[float, float], Lax]
    step: float = Field(gt=0)
    meaning: str = Field(min_length=1)

    @model_validator(mode="after")
    def _inside(self) -> Self:
        low, high = self.range
        if not low <= self.value <= high:
            raise ValueError(f"value {self.value} lies outside its range {low} to {high}")
        steps = (self.value - low) / self.step
        if abs(steps - round(steps)) > 1e-6:
            raise ValueError(f"value {self.value} is not a whole number of steps of {self.step} from {low}")
        return self


def has_parameter(data: Any) -> bool:
    """Whether a `$name` stands in plain data."""
    missing: set[str] = set()
    put_in(data, {}, set(), missing)
    return bool(missing)


def put_in(data: Any, values: Mapping[str, Any], used: set[str], missing: set[str]) -> Any:
    """`data` with each `$name` replaced; notes the names used and those that are not declared."""
    if isinstance(data, dict):
        return {k: put_in(v, values, used, missing) for k, v in data.items()}
    if isinstance(data, list):
        return [put_in(v, values, used, missing) for v in data]
    if isinstance(data, str) and (match := _PARAMETER.fullmatch(data)):
        name = match[1]
        if name not in values:
            missing.add(name)
            return data
        used.add(name)
        return values[name]
    return data
