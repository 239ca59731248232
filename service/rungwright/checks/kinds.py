"""The checks and calibrations by name, and how one is asked: data in, answer out.

What a body or a list of options may hold is made of the function's own signature, so that a check is written down
once. The functions are keyword-only and pure; their modules are imported when first asked.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from types import MappingProxyType
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from pydantic import Field, create_model

from rungwright.checks.fields import Told
from rungwright.checks.quantities import Range, shown, shown_range
from rungwright.checks.result import Calibrated, Checked, CheckSource, Outcome, UsedInput
from rungwright.domain.strict import Strict

WORDS_ONLY = ("units", "every_form")
"""Inputs that change what is told, and no number."""


@dataclass(frozen=True)
class Kind:
    """One check or calibration."""

    name: str
    function: str
    """module of this package and name in it"""
    summary: str
    example: Mapping[str, Any]
    """a request that is fine"""
    answers: type[Checked] | type[Calibrated] = Checked

    @cached_property
    def call(self) -> Callable[..., Outcome]:
        module, _, name = self.function.partition(":")
        return getattr(import_module(f"rungwright.checks.{module}"), name)

    @cached_property
    def told(self) -> dict[str, Told]:
        """How each input is said back, in the order of the function's parameters; `units` is none of them."""
        hints = get_type_hints(self.call, include_extras=True)
        names = [name for name in inspect.signature(self.call).parameters if name != "units"]
        return {name: next(m for m in _marks(hints[name]) if isinstance(m, Told)) for name in names}

    @cached_property
    def model(self) -> type[Strict]:
        """What may be asked: a field for each parameter, required where the function gives no usual value."""
        hints = get_type_hints(self.call, include_extras=True)
        fields: dict[str, Any] = {}
        for name, parameter in inspect.signature(self.call).parameters.items():
            told, default = self.told.get(name), parameter.default
            described = told.described if told else "how quantities are said"
            if (usual := self.usual(name)) is not None:
                described += f"; usually {usual}"
            if default is parameter.empty:
                given = Field(description=described)
            elif isinstance(default, Range) or (told and told.of and default is not None):
                # It would stand in the contract as bare numbers, where texts are taken; its description says it.
                given = Field(default_factory=lambda default=default: default, description=described)
            else:
                given = Field(default=default, description=described)
            fields[name] = (hints[name], given)
        word = "Check" if self.answers is Checked else "Calibration"
        title = "".join(part.capitalize() for part in self.name.split("_"))
        return create_model(f"{title}{word}", __base__=Strict, __doc__=self.summary, **fields)

    @cached_property
    def properties(self) -> dict[str, Any]:
        """The inputs as JSON Schema, `units` too."""
        return self.model.model_json_schema()["properties"]

    @cached_property
    def required(self) -> frozenset[str]:
        return frozenset(name for name, field in self.model.model_fields.items() if field.is_required())

    def typed(self, name: str, value: Any) -> Any:
        """What was typed is a text; where the check takes a number or yes or no, what it says. Others stay as they are,
        and are refused where they are read."""
        schema = self.properties[name]
        types = {part.get("type") for part in (schema, *schema.get("anyOf", []))}
        if isinstance(value, str):
            if "boolean" in types and value.lower() in ("yes", "no", "true", "false"):
                return value.lower() in ("yes", "true")
            for wanted, read in (("integer", int), ("number", float)):
                if wanted in types:
                    try:
                        return read(value)
                    except ValueError:
                        continue
        return value

    def usual(self, name: str) -> str | None:
        """The value that is taken where an input is not given, in words; None where it is required or left out."""
        default = inspect.signature(self.call).parameters[name].default
        return None if default in (inspect.Parameter.empty, None) else said(default, self.told.get(name))

    def answer(self, asked: Strict) -> Checked | Calibrated:
        """The answer to a model of `self.model`. Raises InputError where inputs do not go together."""
        given = {name: getattr(asked, name) for name in type(asked).model_fields}
        out = self.call(**given)
        used = [
            UsedInput(
                name=name,
                label=told.label,
                text=said(given[name], told, given.get("units", "both")),
                given=name in asked.model_fields_set,
            )
            for name, told in self.told.items()
            if given[name] is not None and name not in WORDS_ONLY
        ]
        sources = [
            CheckSource(number=number, id=source, supports=supports, status=status)
            for number, (source, supports, status) in enumerate(out.sources, 1)
        ]
        own = {"kind": self.name, "inputs": used, "sources": sources}
        return self.answers(**{n: own.get(n, getattr(out, n, None)) for n in self.answers.model_fields})


def said(value: Any, told: Told | None, units: str = "both") -> str:
    """An input in words."""
    if isinstance(value, Range):
        if told and told.of:
            return shown_range(*value, told.of, units)
        return f"{value.low:g}" if value.low == value.high else f"{value.low:g} to {value.high:g}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if told and told.of:
        return shown(value, told.of, units)
    if isinstance(value, (list, tuple)):
        return ", ".join(f"{material} {thick:g} mm" for material, thick in value)
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


def _marks(hint: Any) -> list[Any]:
    """Marks of an annotation, those inside `... | None` too."""
    if get_origin(hint) is Annotated:
        return [*get_args(hint)[1:], *_marks(get_args(hint)[0])]
    return [mark for part in get_args(hint) for mark in _marks(part)]


_BUILD = {"width": "150 mm", "depth": "150 mm"}

CHECKS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind(
                "load",
                "load:check",
                "Can a build of this kit hold the weight, and which forms could?",
                {"mass": "370 g", "sticks": 12, "sheets": 5, "tape": "80 cm", "spots": 2},
            ),
            Kind(
                "wind",
                "wind:check",
                "Does a build stay put in the wind, from every side?",
                {"mass": "50 g", **_BUILD, "height": "150 mm", "speed": "1.5 to 5 m/s"},
            ),
            Kind(
                "rain",
                "rain:check",
                "How much rain does a sprayer, a dropper or a can with holes make, and is the cover large enough?",
                {"strokes": 10, **_BUILD, "cover": "300 cm2"},
            ),
            Kind(
                "snow",
                "snow:check",
                "What depth of snow presses like this weight?",
                {"mass": "370 g", **_BUILD, "snow": "fresh"},
            ),
            Kind(
                "figures",
                "figures:check",
                "How many figures fit, can they go in, do they stand, and at what scale?",
                {"figures": 4, "width": "150 mm", "depth": "150 mm", "headroom": "100 mm"},
            ),
            Kind(
                "float",
                "afloat:check",
                "Does a raft or hull carry its cargo, how deep does it lie, and does it stay upright?",
                {
                    "length": "180 mm",
                    "width": "120 mm",
                    "height": "30 mm",
                    "own_mass": "12 g",
                    "cargo": "200 g",
                    "off_centre": "10 mm",
                },
            ),
            Kind(
                "drop",
                "drop:check",
                "How fast does a parcel land, and how hard does it stop?",
                {"height": "2 m", "mass": "80 g", "stopping": "5 to 20 mm"},
            ),
            Kind(
                "heat",
                "heat:check",
                "How fast does something warm cool through these layers?",
                {"layers": ["felt 5 mm", "card 0.5 mm"], "water": "250 ml", "area": "350 cm2", "minutes": "20 min"},
            ),
            Kind(
                "rest",
                "rest:check",
                "Can the weight rest there, are the spots far enough apart, and do the feet hold?",
                {"item": "can", **_BUILD, "slope": "5 deg", "spots": 2},
            ),
            Kind(
                "member",
                "member:check",
                "When does one stick, tube or folded sheet buckle or break?",
                {
                    "width": "10 mm",
                    "thickness": "2 mm",
                    "length": "114 mm",
                    "stiffness": "11 GPa",
                    "strength": "85 MPa",
                },
            ),
        )
    }
)

CALIBRATIONS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind(
                "friction",
                "calibrate:friction",
                "Friction from the tilt at which a build begins to slide on the board of the test.",
                {"angle": "20 deg to 23 deg"},
                Calibrated,
            ),
            Kind(
                "sprayer",
                "calibrate:sprayer",
                "Water in one stroke, from the mass of some strokes.",
                {"mass": "19 g", "strokes": 20},
                Calibrated,
            ),
            Kind(
                "fan",
                "calibrate:fan",
                "Wind of a fan, from readings of an anemometer or from the box that just stays.",
                {"reading": "2.4 to 3.1 m/s"},
                Calibrated,
            ),
            Kind(
                "stick",
                "calibrate:stick",
                "Thickness of one stick, from a stack of them.",
                {"stack": "19 mm", "count": 10},
                Calibrated,
            ),
            Kind(
                "paper",
                "calibrate:paper",
                "Thickness of one sheet of paper, from a stack of them.",
                {"stack": "10.5 mm", "count": 100},
                Calibrated,
            ),
            Kind(
                "weight",
                "calibrate:weight",
                "Mass of a can or bottle, read on a scale or from what it holds.",
                {"contents": "500 ml", "empty": "10 g"},
                Calibrated,
            ),
        )
    }
)
