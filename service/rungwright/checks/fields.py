"""Types of the inputs of a check: read from text with a unit, kept inside a sensible range, described in the contract.

A check's own signature is its contract: `def snow(*, mass: mass_between(1, 20_000, "the weight on the roof"), ...)`.
Inside a check every quantity is a float, or a `Range`, in the unit of its dimension.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, PlainValidator, WithJsonSchema

from rungwright.checks.quantities import (
    ANGLE,
    AREA,
    DENSITY,
    LENGTH,
    LONGEST,
    MASS,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    TIME,
    VOLUME,
    Dimension,
    Range,
    read,
    read_plain_range,
    read_range,
    shown,
)
from rungwright.measure.constants import MATERIAL

USUAL_FRICTION = Range(MATERIAL["friction"].low, MATERIAL["friction"].high)


@dataclass(frozen=True)
class Told:
    """How an input is said back: its label, its dimension where it has one, and what may be given."""

    label: str
    of: Dimension | None
    described: str


def quantity(of: Dimension, low: float, high: float, label: str, *, ranged: bool = False) -> Any:
    """A quantity from `low` to `high`, in the dimension's unit, both ends in; with `ranged`, a range of it."""

    def take(value: object) -> float | Range:
        number = read_range(value, of) if ranged else read(value, of)
        ends = number if ranged else (number,)
        # A unit turned over and back may miss a bound by its last digit.
        slack = 1e-9 * max(abs(low), abs(high))
        if min(ends) < low - slack or max(ends) > high + slack:
            raise ValueError(f"must be from {shown(low, of)} to {shown(high, of)}")
        return number

    # The validator gives a Range itself; named here, the tuple would stand in the contract as well.
    kind = Any if ranged else float
    schema = {"type": "string", "maxLength": LONGEST, "examples": [of.example.split(" or ")[0]]}
    described = f"{label}: {of.name} with its unit, such as {of.example}" + (", or a range of it" if ranged else "")
    return Annotated[kind, PlainValidator(take), WithJsonSchema(schema), Told(label, of, described)]


def plain_range(low: float, high: float, label: str) -> Any:
    """A number with no unit, or a range of it such as `0.2 to 0.4`."""

    def take(value: object) -> Range:
        number = read_plain_range(value)
        if number.low < low or number.high > high:
            raise ValueError(f"must be from {low:g} to {high:g}")
        return number

    schema = {"anyOf": [{"type": "number", "minimum": low, "maximum": high}, {"type": "string", "maxLength": LONGEST}]}
    told = Told(label, None, f"{label}; a number, or a range such as 0.2 to 0.4")
    return Annotated[Any, PlainValidator(take), WithJsonSchema(schema), told]


def count(low: int, high: int, label: str) -> Any:
    return Annotated[int, Field(ge=low, le=high), Told(label, None, label)]


def number(low: float, high: float, label: str) -> Any:
    """A number with no unit."""
    return Annotated[float, Field(ge=low, le=high), Told(label, None, label)]


def choice(literal: Any, label: str) -> Any:
    """One of a closed set of words, or yes or no."""
    return Annotated[literal, Told(label, None, label)]


def layers(materials: tuple[str, ...], label: str) -> Any:
    """A list of layers, each a material and its thickness such as `felt 5 mm`; read as (material, thickness [mm])."""

    def take(value: object) -> tuple[str, float]:
        said = value if isinstance(value, str) and len(value) <= LONGEST else ""
        parts = re.fullmatch(r" *([A-Za-z][A-Za-z _-]*?)[ ,]*([^A-Za-z ,].*)", said)
        name, thick = (parts[1].lower().replace("-", "_").replace(" ", "_"), parts[2]) if parts else ("", "")
        if name not in materials:
            near = difflib.get_close_matches(name[:40], materials, n=1, cutoff=0.5)
            known = f"did you mean {near[0]!r}?" if near else "known are " + ", ".join(materials)
            raise ValueError(f"must be a material and its thickness, such as 'felt 5 mm'; {known}")
        millimetres = read(thick, LENGTH)
        if not 0.005 <= millimetres <= 300:
            raise ValueError(f"a layer must be from {shown(0.005, LENGTH)} to {shown(300, LENGTH)} thick")
        return name, millimetres

    schema = {"type": "string", "maxLength": LONGEST, "examples": ["felt 5 mm"]}
    each = Annotated[Any, PlainValidator(take), WithJsonSchema(schema)]
    told = f"{label}: material and thickness, such as felt 5 mm; materials are {', '.join(materials)}"
    return Annotated[list[each], Field(min_length=1, max_length=20), Told(label, None, told)]


def mass(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(MASS, low, high, label, **how)


def length(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(LENGTH, low, high, label, **how)


def area(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(AREA, low, high, label, **how)


def volume(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(VOLUME, low, high, label, **how)


def speed(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(SPEED, low, high, label, **how)


def time(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(TIME, low, high, label, **how)


def angle(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(ANGLE, low, high, label, **how)


def density(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(DENSITY, low, high, label, **how)


def pressure(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(PRESSURE, low, high, label, **how)


def temperature(low: float, high: float, label: str, **how: bool) -> Any:
    return quantity(TEMPERATURE, low, high, label, **how)
