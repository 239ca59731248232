"""Quantities as people write them: a number with its unit, metric or US, turned into the unit a check computes in.

`370 g`, `13oz`, `2 1/2 in`, `2½ in`, `1 lb 4 oz`; and, where a range is taken, `2 to 4 m/s`. A number without its unit
is refused, and so is a unit of another kind: units cannot be confused. Conversion is done by the library pint.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import pint


class Range(NamedTuple):
    """Least and most of a number that is known only so well; equal where it is known."""

    low: float
    high: float

    @property
    def mid(self) -> float:
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity: the unit that checks compute in, and one of US classrooms to show beside it."""

    name: str
    """with its article: `a mass`"""
    unit: str
    """as printed"""
    pint: str
    """as pint names it"""
    us: str | None
    us_pint: str | None
    example: str


MASS = Dimension("a mass", "g", "gram", "oz", "ounce", "370 g or 13 oz")
LENGTH = Dimension("a length", "mm", "millimeter", "in", "inch", "150 mm or 6 in")
AREA = Dimension("an area", "cm²", "centimeter ** 2", "sq in", "inch ** 2", "450 cm2 or 70 sq in")
VOLUME = Dimension("a volume", "ml", "milliliter", "fl oz", "fluid_ounce", "20 ml or 1 fl oz")
SPEED = Dimension("a speed", "m/s", "meter / second", "mph", "mile / hour", "2 m/s or 5 mph")
TIME = Dimension("a time", "min", "minute", None, None, "10 min or 30 s")
ANGLE = Dimension("an angle", "°", "degree", None, None, "30 deg")
DENSITY = Dimension("a density", "kg/m³", "kilogram / meter ** 3", "lb/cu ft", "pound / foot ** 3", "100 kg/m3")
PRESSURE = Dimension("a pressure", "Pa", "pascal", "psf", "pound_force / foot ** 2", "25 psf or 1.2 kPa")
TEMPERATURE = Dimension("a temperature", "°C", "degree_Celsius", "°F", "degree_Fahrenheit", "45 C or 113 F")
FORCE = Dimension("a force", "N", "newton", "ozf", "ounce_force", "3 N")
ENERGY = Dimension("an energy", "J", "joule", None, None, "0.5 J")
RATE = Dimension("a rate of rain", "mm/h", "millimeter / hour", "in/h", "inch / hour", "15 mm/h")
STRESS = Dimension("a stiffness or strength", "MPa", "megapascal", "psi", "psi", "11 GPa or 85 MPa")
INERTIA = Dimension("a second moment of area", "mm⁴", "millimeter ** 4", None, None, "6.7 mm4")
MOMENT = Dimension("a moment", "N mm", "newton * millimeter", "in lbf", "inch * pound_force", "500 N mm")
SPREAD_FORCE = Dimension(
    "a force over a length", "N/mm", "newton / millimeter", "lbf/ft", "pound_force / foot", "0.1 N/mm"
)
CONDUCTION = Dimension("a conductivity", "W/mK", "watt / meter / kelvin", None, None, "0.05 W/mK")
COOLING = Dimension("a U-value", "W/m²K", "watt / meter ** 2 / kelvin", None, None, "2 W/m2K")

# Shorthand of classrooms that pint reads as something else, or not at all.
_SHORTHAND = {
    "c": "degree_Celsius", "°c": "degree_Celsius", "degc": "degree_Celsius", "celsius": "degree_Celsius",
    "f": "degree_Fahrenheit", "°f": "degree_Fahrenheit", "degf": "degree_Fahrenheit",
    "fahrenheit": "degree_Fahrenheit", "°": "degree", '"': "inch", "'": "foot", "in.": "inch", "lbs": "pound",
    "fl oz": "fluid_ounce", "floz": "fluid_ounce", "fl_oz": "fluid_ounce", "sq in": "inch ** 2",
    "sq ft": "foot ** 2", "sq cm": "centimeter ** 2", "psf": "pound_force / foot ** 2", "pcf": "pound / foot ** 3",
    "lb/cu ft": "pound / foot ** 3", "gsm": "gram / meter ** 2", "kmh": "kilometer / hour", "mins": "minute",
    "sec": "second", "secs": "second", "hrs": "hour", "cc": "milliliter", "ozf": "ounce_force",
    "gm": "gram", "gms": "gram", "kmph": "kilometer / hour",
    "lbf": "pound_force", "kip": "kilopound_force", "kip/ft": "kilopound_force / foot",
    "kip/in": "kilopound_force / inch", "ksi": "kilopound_force / inch ** 2",
}  # fmt: skip

_NUMBER = r"(?:\d+ \d+/\d+|\d+/\d+|\d*\.?\d+(?:[eE][-+]?\d{1,3})?|\d+\.)"
# Letters with at most one small power each, joined by / or a space: nothing that can be worked out at length.
_UNIT = r"[A-Za-zµ°\"'_.]+(?:\^?[234])?(?:(?: ?[/*·] ?| )\(?[A-Za-zµ°_]+(?:\^?[234])?\)?){0,3}"
_PART = re.compile(rf"(?P<sign>-?)(?P<number>{_NUMBER}) ?(?P<unit>{_UNIT})")
_COMPOUND = re.compile(rf"(\d+) ?(lbs?|ft|') ?({_NUMBER}) ?(oz|in|\")")
_SPAN = re.compile(rf"(?P<low>{_NUMBER}) ?(?P<unit>{_UNIT})? ?(?:to|-|–|\.\.) ?(?P<high>{_NUMBER} ?{_UNIT})")
_BARE = re.compile(rf"-?{_NUMBER}")
LONGEST = 60


@cache
def _registry() -> pint.UnitRegistry:
    # Imported on first use: it costs more than all the checks together.
    import pint

    return pint.UnitRegistry()


def read(text: object, of: Dimension) -> float:
    """The number in the dimension's own unit. Raises ValueError that says what is expected."""
    said = _clean(text, of)
    if compound := _COMPOUND.fullmatch(said):
        large, large_unit, small, small_unit = compound.groups()
        return _converted(large, large_unit, of, text) + _converted(small, small_unit, of, text)
    part = _PART.fullmatch(said)
    if part is None:
        raise ValueError(_not_read(text, said, of))
    return _converted(part["sign"] + part["number"], part["unit"], of, text)


def read_range(text: object, of: Dimension) -> Range:
    """`2 to 4 m/s`, or one value for both ends. Raises ValueError, also where it runs backwards."""
    said = _clean(text, of)
    span = _SPAN.fullmatch(said)
    if span is None:
        value = read(text, of)
        return Range(value, value)
    unit = _PART.fullmatch(span["high"])["unit"]
    low, high = read(f"{span['low']} {span['unit'] or unit}", of), read(span["high"], of)
    return _in_order(low, high, text)


def read_plain_range(value: object) -> Range:
    """A number without a unit, or `0.2 to 0.4`."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        number = _finite(float(value), value)
        return Range(number, number)
    said = _tidied(value) if isinstance(value, str) and len(value) <= LONGEST else ""
    ends = re.split(r" ?(?:to|–|\.\.) ?", said)
    if not 1 <= len(ends) <= 2 or not all(_BARE.fullmatch(end) for end in ends):
        raise ValueError("must be a number, or a range such as '0.2 to 0.4'")
    low, high = _finite(_number(ends[0]), value), _finite(_number(ends[-1]), value)
    return _in_order(low, high, value)


def shown(value: float, of: Dimension, units: str = "both") -> str:
    """`370 g (13.1 oz)`: three figures at most, and US beside metric where a US classroom measures so."""
    return shown_range(value, value, of, units)


def shown_range(low: float, high: float, of: Dimension, units: str = "both", *, digits: int = 3) -> str:
    """`1.5 to 5 m/s (3.36 to 11.2 mph)`; one number where both ends are said alike."""
    metric = _joined(_ends(low, high, digits), of.unit)
    if of.us is None or units == "metric":
        return metric
    factor, offset = _to_us(of)
    us = _joined(_ends(low * factor + offset, high * factor + offset, digits), of.us)
    return us if units == "us" else f"{metric} ({us})"


def _ends(low: float, high: float, digits: int) -> str:
    first, last = figures(low, digits), figures(high, digits)
    return last if first == last else f"{first} to {last}"


@cache
def _to_us(of: Dimension) -> tuple[float, float]:
    """Factor and offset from the dimension's unit to the US one."""
    ureg = _registry()
    zero, one = (float(ureg.Quantity(x, ureg.parse_units(of.pint)).to(of.us_pint).magnitude) for x in (0.0, 1.0))
    return one - zero, zero


def _joined(number: str, unit: str) -> str:
    return number + unit if unit == "°" else f"{number} {unit}"


def figures(value: float, digits: int = 3) -> str:
    """So many figures after rounding, but never fewer than the units where it is 3; no exponent.

    With a thousands comma from 10,000 on.
    """
    if not math.isfinite(value):
        raise ValueError(f"cannot be shown: {value!r}")
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    places = max(places, 0) if digits >= 3 else places
    rounded = round(value, places)
    if abs(rounded) >= 10_000:
        return f"{rounded:,.0f}"
    text = f"{rounded:.{min(max(places, 0), 6)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _clean(text: object, of: Dimension) -> str:
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise ValueError(f"say the unit too: {of.name}, such as {of.example}")
    if not isinstance(text, str):
        raise ValueError(f"must be {of.name} as a text, such as {of.example}")
    if len(text) > LONGEST:
        raise ValueError(f"is too long for {of.name}; write it such as {of.example}")
    return _tidied(text)


def _tidied(text: str) -> str:
    # Vulgar fractions apart from the whole number before them, then compatibility forms: ½ is 1⁄2, ² is 2, μ is µ.
    for written, meant in (("μ", "µ"), ("”", '"'), ("″", '"'), ("’", "'"), ("′", "'")):
        text = text.replace(written, meant)
    spaced = re.sub(r"(?<=\d)(?=[¼½¾⅛⅜⅝⅞])", " ", text)
    normal = "".join(unicodedata.normalize("NFKC", c) if c not in "µ°" else c for c in spaced)
    normal = normal.replace("⁄", "/").replace("−", "-")
    # `1-1/2 in` is one and a half inches, as recipes and rulers have it.
    normal = re.sub(r"(?<![\d/.])(\d+)-(?=\d+/\d)", r"\1 ", normal)
    return " ".join(normal.split())


def _not_read(text: object, said: str, of: Dimension) -> str:
    if _BARE.fullmatch(said):
        return f"say the unit too: {of.name}, such as {of.example}"
    if "," in said:
        return f"write {of.name} with a point and no commas, such as {of.example}"
    return f"{str(text)[:LONGEST]!r} is not read as {of.name}; write it such as {of.example}"


def _number(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    total = 0.0
    for part in text.lstrip("-").split():
        top, _, bottom = part.partition("/")
        if bottom and float(bottom) == 0:
            raise ValueError(f"{text!r} divides by nothing")
        total += float(top) / (float(bottom) if bottom else 1.0)
    return sign * total


def _converted(number: str, unit: str, of: Dimension, text: object) -> float:
    import pint

    name = unit.strip()
    amount = _number(number)
    problem = ""
    # As written first, since M and m differ; then in small letters, as `13 OZ` can only mean one thing.
    for said in dict.fromkeys((name, name.lower())):
        known = _SHORTHAND.get(said.lower()) or re.sub(r"(?<=[A-Za-z])\^?([234])", r"**\1", said).replace("·", "*")
        try:
            given = _registry().Quantity(amount, _registry().parse_units(known))
            return _finite(float(given.to(_registry().parse_units(of.pint)).magnitude), text)
        except pint.DimensionalityError:
            problem = f"{str(text)[:LONGEST]!r} is not {of.name}; write it such as {of.example}"
        except (pint.UndefinedUnitError, pint.errors.PintError, AttributeError, TypeError, SyntaxError, AssertionError):
            problem = problem or f"{unit[:20]!r} is no unit that is known; write {of.name} such as {of.example}"
    raise ValueError(problem)


def _in_order(low: float, high: float, text: object) -> Range:
    if low > high:
        raise ValueError(f"{str(text)[:LONGEST]!r} runs backwards; write the lower end first")
    return Range(low, high)


def _finite(value: float, text: object) -> float:
    if not math.isfinite(value):
        raise ValueError(f"{str(text)[:LONGEST]!r} is not a finite number")
    return value
